"""Writing a file whole: whoever looks sees the old file or the new one, never half of one."""

from __future__ import annotations

import os
import stat
import tempfile
from pathlib import Path


def write_whole(path: Path, content: bytes) -> Path:
    """Write ``content`` to ``path`` under a temporary name, sync it to disk, rename it; returns ``path``.

    Folders on the way are made; a file that is there keeps its permissions. A full disk or a kill leaves at
    most a file named ``.*.part``, which the next write of the same file does not mind.

    Raises:
        OSError: the folder cannot be written to, or the disk is full. Nothing is left under ``path``
            that was not there before.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
            os.fchmod(file.fileno(), _permissions(path))
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    _sync_folder(path.parent)
    return path


def _permissions(path: Path) -> int:
    """Those of the file that is replaced: whoever closed it to others did so on purpose."""
    return stat.S_IMODE(path.stat().st_mode) if path.exists() else 0o644


def _sync_folder(folder: Path) -> None:
    """Make the new name itself last: on most file systems a rename is on disk only once the folder is."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
