"""A seal file on disk: only ever added to, by one writer at a time, and on disk when that returns."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from io import FileIO
from pathlib import Path
from typing import Any

from traveler.record.chain import GENESIS
from traveler.record.on_disk import flush_folder
from traveler.record.seal import FORMAT, seal_line, sound_line

Said = tuple[str, Mapping[str, Any]]
"""Kind of a line and what it says."""

_LONGEST = 4_096
"""Bytes of the longest line there can be; serials and names of shops are short."""


@contextmanager
def held(file: Path) -> Iterator[FileIO]:
    """The file, open for reading and adding, made if need be; others who hold it wait.

    Raises:
        OSError: it cannot be opened.
    """
    new = not file.exists()
    with FileIO(file, "a+") as opened:
        fcntl.flock(opened, fcntl.LOCK_EX)
        if new:
            flush_folder(file.parent)
        yield opened


def content_of(opened: FileIO) -> bytes:
    """All of an open seal file."""
    opened.seek(0)
    return opened.readall()


def ending(opened: FileIO) -> tuple[int, str] | None:
    """Number and hash of the last whole line, (0, 64 zeros) before the first; None where it was altered."""
    size = os.fstat(opened.fileno()).st_size
    opened.seek(max(0, size - 2 * _LONGEST))
    whole = opened.readall().split(b"\n")[:-1]
    if not whole:
        return (0, GENESIS) if size < _LONGEST else None
    line = sound_line(whole[-1])
    return None if line is None else (line.number, line.hash)


def beginning(opened: FileIO) -> str | None:
    """The hash of the first line; None where there is none, or it was altered."""
    opened.seek(0)
    line = sound_line(opened.read(_LONGEST).partition(b"\n")[0])
    return line.hash if line is not None and line.kind == "begun" else None


def add_lines(opened: FileIO, end: tuple[int, str], at: str, shop: str, says: Sequence[Said]) -> None:
    """Adds lines after the one ``end`` speaks of, the last whole one; a new file is begun first.

    Half a line at the end, left by a power failure, is cut off: nobody was ever told that it was written.

    Raises:
        OSError: the disk is full or failing; the file is then as it was.
    """
    number, previous = end
    begun: list[Said] = [] if number else [("begun", {"format": FORMAT, "shop": shop})]
    made = []
    for kind, said in [*begun, *says]:
        made.append(seal_line(kind, at, said, number + 1, previous))
        number, previous = made[-1].number, made[-1].hash
    _cut_torn(opened)
    append(opened, "".join(f"{line.text}\n" for line in made).encode())


def append(opened: FileIO, content: bytes) -> None:
    """Adds the bytes whole and waits until the disk has them, or leaves the file as it was.

    Raises:
        OSError: the disk is full or failing.
    """
    size = os.fstat(opened.fileno()).st_size
    try:
        left = memoryview(content)
        while left:
            left = left[opened.write(left) :]
        os.fsync(opened.fileno())
    except OSError:
        os.ftruncate(opened.fileno(), size)
        raise


def _cut_torn(opened: FileIO) -> None:
    size = os.fstat(opened.fileno()).st_size
    start = max(0, size - 2 * _LONGEST)
    opened.seek(start)
    tail = opened.readall()
    if tail and not tail.endswith(b"\n"):
        os.ftruncate(opened.fileno(), start + tail.rfind(b"\n") + 1)


def bring_up_to(copy: Path, content: bytes) -> bool:
    """Adds to a copy of a seal file what it has not yet; False where it is no beginning of ``content``.

    Raises:
        OSError: it cannot be written.
    """
    with held(copy) as opened:
        there = content_of(opened)
        if not content.startswith(there):
            return False
        if len(there) < len(content):
            append(opened, content[len(there) :])
    return True
