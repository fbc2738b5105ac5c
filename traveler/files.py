"""Writing files whole: a reader sees the old file or the new one, never half of one."""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from traveler.finding import CannotDo


def write_beside(target: Path, content: bytes) -> None:
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
    for path in [part for part in parts if part not in problems]:
        with _noting(problems, path, parts[path]):
            parts[path].replace(path)
    synced: set[Path] = set()
    for path in [part for part in parts if part not in problems]:
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
    missing = [parent for parent in (folder, *folder.parents) if not parent.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    return {parent.parent for parent in missing}


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


def named_as(path: Path | None, *endings: str) -> None:
    """Nothing, if no file is named or its name ends as it should.

    So a slip of the hand does not put a PDF in the place of ``shop.yaml``.

    Raises:
        CannotDo: it ends otherwise.
    """
    if path is not None and path.suffix.casefold() not in endings:
        what = f"{path} does not end in {' or '.join(endings)}"
        raise CannotDo(what, f"name it {path.with_suffix(endings[0]).name}" if path.name else "name a file")
