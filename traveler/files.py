"""Files written whole: a reader sees the old file or the new one, never half of one.

Each is written under a temporary name beside its place, waited for until it is on disk, and renamed. A full
disk or a kill leaves at most a file named ``.*.part``, which the next write of the same file does not mind.
"""

from __future__ import annotations

import csv
import fcntl
import io
import os
import re
import shutil
import stat
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from traveler.finding import CannotDo

LONGEST_NAME = 80
"""Characters of a file name made from a text; every file system takes them."""

CSV_MARK = "\ufeff"
"""In front of a CSV, so that spreadsheets read µ and Ω right."""

_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_FORMULA = re.compile(r"\s*[=+\-@\t\r\n＝＋－＠]")


def write_whole(path: Path, content: bytes) -> Path:
    """Writes ``content`` to ``path``; returns ``path``.

    Raises:
        OSError: as :func:`replacing`.
    """
    with growing(path) as file:
        file.write(content)
    return path


@contextmanager
def growing(path: Path) -> Iterator[BinaryIO]:
    """A file to write into; it is at ``path`` only once all of it is written and on disk.

    Raises:
        OSError: as :func:`replacing`.
    """
    with replacing(path) as part, part.open("wb") as file:
        yield file


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """A path to write to; at the end of the block it is on disk and takes the place of ``path``.

    Folders on the way are made; a file that is there keeps its permissions. If the block raises, nothing is
    left of the new file, and what was there stays.

    Raises:
        OSError: the folder cannot be written to, or the disk is full.
    """
    made = _folders(path.parent)
    part = _part(path)
    try:
        yield part
        part.chmod(_permissions(path))
        _sync({part})
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    _sync({path.parent, *made})


@contextmanager
def new_folder(folder: Path) -> Iterator[Path]:
    """An empty folder to fill; at the end of the block all in it is on disk and it is called ``folder``.

    Raises:
        OSError: there is something of this name, it cannot be written to, or the disk is full.
    """
    made = _folders(folder.parent)
    part = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name}.", suffix=".part"))
    try:
        yield part
        part.chmod(0o755)
        _sync([part, *part.rglob("*")])
        part.replace(folder)
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        raise
    _sync({folder.parent, *made})


def write_together(files: Iterable[tuple[Path, bytes]]) -> dict[Path, OSError]:
    """Writes many files whole; gives the problem of each that could not be written.

    What makes a file last is waited for once for all of them: their contents are handed to the disk
    together, then each is synced and renamed, then the folders are synced. When this returns, every file
    without a problem is on disk; before, none has its name unless its content is there.
    """
    parts: dict[Path, Path] = {}
    problems: dict[Path, OSError] = {}
    folders: dict[Path, set[Path]] = {}
    for path, content in files:
        with _noting(problems, path, parts):
            folders[path] = {path.parent, *_folders(path.parent)}
            parts[path] = _part(path)
            parts[path].write_bytes(content)
            parts[path].chmod(_permissions(path))
    # a rename makes the next sync write the folder as well: first all contents, then all names
    for path, part in list(parts.items()):
        with _noting(problems, path, parts):
            _sync({part})
    for path, part in list(parts.items()):
        with _noting(problems, path, parts):
            part.replace(path)
    synced: set[Path] = set()
    for path in list(parts):
        with _noting(problems, path, parts):
            _sync(folders[path] - synced)
            synced |= folders[path]
    return problems


@contextmanager
def _noting(problems: dict[Path, OSError], path: Path, parts: dict[Path, Path]) -> Iterator[None]:
    """What goes wrong with a file is noted, and its part removed; the other files go on."""
    try:
        yield
    except OSError as problem:
        problems[path] = problem
        if (part := parts.pop(path, None)) is not None:
            part.unlink(missing_ok=True)


@contextmanager
def folder_held(folder: Path) -> Iterator[None]:
    """Keeps other writers of this program waiting; some network shares lock no folder, then nobody waits."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        with suppress(OSError):
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def check_ending(path: Path | None, *endings: str) -> None:
    """Nothing, if no file is named or its name ends as it should.

    So a slip of the hand does not put a PDF in the place of ``shop.yaml``.

    Raises:
        CannotDo: it ends otherwise.
    """
    if path is not None and path.suffix.casefold() not in endings:
        what = f"{path} does not end in {' or '.join(endings)}"
        raise CannotDo(what, f"name it {path.with_suffix(endings[0]).name}" if path.name else "name a file")


def safe_name(text: str) -> str:
    """The text as the name of a file, or a part of one, that every file system takes.

    >>> safe_name("a b/c.jpg")
    'a_b_c.jpg'
    """
    plain = "".join(sign if sign.isalnum() or sign in "-_." else "_" for sign in text)
    return plain.strip(".")[-LONGEST_NAME:] or "file"


def csv_text(rows: Iterable[Iterable[object]]) -> str:
    """The rows as CSV (RFC 4180); no cell is taken for a formula by a spreadsheet."""
    made = io.StringIO()
    csv.writer(made).writerows([csv_cell(cell) for cell in row] for row in rows)
    return made.getvalue()


def csv_cell(cell: object) -> str:
    """The cell as text; an apostrophe in front of what a spreadsheet would take for a formula.

    Numbers stay as they are, below zero too. None is an empty cell.

    >>> csv_cell("-0.05"), csv_cell("=1+1"), csv_cell(None)
    ('-0.05', "'=1+1", '')
    """
    text = "" if cell is None else str(cell)
    return f"'{text}" if _FORMULA.match(text) and not _NUMBER.fullmatch(text) else text


def _part(path: Path) -> Path:
    """A new file under a temporary name beside ``path``."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    os.close(handle)
    return Path(name)


def _folders(folder: Path) -> set[Path]:
    """Makes a folder and those on the way; gives the folders that got a new one into them."""
    missing = [above for above in (folder, *folder.parents) if not above.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    return {above.parent for above in missing}


def _permissions(path: Path) -> int:
    """Those of the file that is replaced: the person who closed it to others did so on purpose."""
    return stat.S_IMODE(path.stat().st_mode) if path.exists() else 0o644


def _sync(paths: Iterable[Path]) -> None:
    """Waits until these are on disk. Folders too: a rename is on disk only once its folder is."""
    for path in paths:
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        except OSError:
            if not path.is_dir():  # some network shares keep no folders in step
                raise
        finally:
            os.close(handle)


def flush_folder(folder: Path) -> None:
    """Waits until the names in a folder are on disk."""
    _sync({folder})
