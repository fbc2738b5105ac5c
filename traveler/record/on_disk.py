"""Files that are there whole or not at all, also after the power fails."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def write_whole(target: Path, content: bytes) -> None:
    """Temporary name, flushed to disk, renamed, the folder flushed too.

    Raises:
        OSError: it cannot be written; nothing of it is left.
    """
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=".part-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    flush_folder(target.parent)


def flush_file(file: Path) -> None:
    """Waits until a file that was written is on disk.

    Raises:
        OSError: the disk is failing.
    """
    with file.open("rb") as written:
        os.fsync(written.fileno())


def flush_folder(folder: Path) -> None:
    """Waits until the names in a folder are on disk; does nothing where folders cannot be opened."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
