"""Whether a file lies on a disk of this computer: SQLite's write-ahead log loses data on network shares."""

from __future__ import annotations

from pathlib import Path

NETWORK = frozenset({
    "nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "afs", "ncpfs", "ceph", "glusterfs", "fuse.sshfs",
    "fuse.glusterfs",
})  # fmt: skip
"""File system names, as the Linux kernel gives them, behind which there is another computer."""

_MOUNTS = Path("/proc/self/mounts")


def network_file_system(file: Path, mounts: Path = _MOUNTS) -> str | None:
    """The network file system the file lies on; None for a local disk, or where that cannot be told."""
    try:
        lines = mounts.read_text(errors="replace").splitlines()
    except OSError:
        return None
    real = file.resolve()
    best = ("", "")
    for line in lines:
        _device, point, kind, *_rest = (*line.split(" "), "", "")
        point = point.replace("\\040", " ")
        if real.is_relative_to(point or "-") and len(point) >= len(best[0]):
            best = (point, kind)
    return best[1] if best[1] in NETWORK else None
