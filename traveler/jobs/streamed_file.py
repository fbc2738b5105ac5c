"""Writing a large file piece by piece under another name; it appears whole, or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def streamed(path: Path) -> Iterator[Path]:
    """A path to write to; at the end of the block it is on disk and takes the place of ``path``.

    Folders on the way are made. If the block raises, nothing is left and what was there stays.

    Raises:
        OSError: the folder cannot be written to, or the disk is full.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    os.close(handle)
    temporary = Path(name)
    try:
        yield temporary
        with temporary.open("rb+") as file:
            os.fsync(file.fileno())
        temporary.chmod(0o644)
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
