"""Writing a file whole: whoever looks sees the old file or the new one, never half of one."""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO


def write_whole(path: Path, content: bytes) -> Path:
    """Write ``content`` to ``path`` under a temporary name, sync it to disk, rename it; returns ``path``.

    Folders on the way are made; a file that is there keeps its permissions. A full disk or a kill leaves at
    most a file named ``.*.part``, which the next write of the same file does not mind.

    Raises:
        OSError: the folder cannot be written to, or the disk is full. Nothing is left under ``path``
            that was not there before.
    """
    with growing(path) as file:
        file.write(content)
    return path


@contextmanager
def growing(path: Path) -> Iterator[BinaryIO]:
    """A file to write into; it is at ``path`` only once all of it is written and on disk.

    Raises:
        OSError: see :func:`write_whole`.
    """
    made = _folders(path.parent)
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            yield file
            file.flush()
            os.fchmod(file.fileno(), _permissions(path))
            os.fsync(file.fileno())
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    _sync({path.parent, *made})


def write_together(files: Iterable[tuple[Path, bytes]]) -> dict[Path, OSError]:
    """Write many files whole; gives the problem of each that could not be written.

    What makes a file last is waited for once for all of them: their contents are handed to the disk
    together, then each is synced and renamed, then the folders are synced. When this returns, every file
    without a problem is on disk; before, none has its name unless its content is there.
    """
    parts: dict[Path, Path] = {}
    problems: dict[Path, OSError] = {}
    made: dict[Path, set[Path]] = {}
    for path, content in files:
        with _noting(problems, path):
            made[path] = {path.parent, *_folders(path.parent)}
            parts[path] = _part(path, content)
    # a rename makes the next sync write the folder as well: first all contents, then all names
    for path, part in parts.items():
        with _noting(problems, path, part):
            _sync({part})
    for path in [one for one in parts if one not in problems]:
        with _noting(problems, path, parts[path]):
            parts[path].replace(path)
    synced: set[Path] = set()
    for path in [one for one in parts if one not in problems]:
        with _noting(problems, path):
            _sync(made[path] - synced)
            synced |= made[path]
    return problems


@contextmanager
def _noting(problems: dict[Path, OSError], path: Path, part: Path | None = None) -> Iterator[None]:
    """What goes wrong with a file is noted, and its ``part`` removed; the other files go on."""
    try:
        yield
    except OSError as problem:
        problems[path] = problem
        if part is not None:
            part.unlink(missing_ok=True)


def _part(path: Path, content: bytes) -> Path:
    """The content under a temporary name beside ``path``, not yet synced."""
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            os.fchmod(file.fileno(), _permissions(path))
    except OSError:
        Path(temporary).unlink(missing_ok=True)
        raise
    return Path(temporary)


def _folders(folder: Path) -> set[Path]:
    """Make a folder and those on the way; gives the folders that got a new one into them."""
    missing = [one for one in (folder, *folder.parents) if not one.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    return {one.parent for one in missing}


def _permissions(path: Path) -> int:
    """Those of the file that is replaced: whoever closed it to others did so on purpose."""
    return stat.S_IMODE(path.stat().st_mode) if path.exists() else 0o644


def _sync(paths: Iterable[Path]) -> None:
    """Wait until these are on disk. Folders too: a rename is on disk only once its folder is."""
    for path in paths:
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
