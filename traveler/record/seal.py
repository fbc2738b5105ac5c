"""Seals: a file outside the database that states, line by line, where chains ended."""

from __future__ import annotations

import fcntl
import hashlib
import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from io import FileIO
from pathlib import Path
from typing import Any

from traveler.files import flush_folder
from traveler.finding import Finding, Place, Weight
from traveler.record.chain import GENESIS
from traveler.record.errors import NotStorable
from traveler.record.stored import canonical_json

FORMAT = 1
KEYS: dict[str, dict[str, type]] = {
    "begun": {"format": int, "shop": str},
    "unit": {"unit": str, "count": int, "head": str},
    "store": {"units": int, "entries": int},
}
"""Kind of line → what it says, besides ``kind``, ``line``, ``at``, ``previous`` and ``hash``."""

_ALWAYS: dict[str, type] = {"kind": str, "line": int, "at": str, "previous": str, "hash": str}
_HINT = "compare it with the copies of it that are kept elsewhere"


@dataclass(frozen=True, slots=True)
class SealLine:
    """One line: its number from 1, when it was written, what it says, and its place in the file's chain."""

    kind: str
    number: int
    at: str
    says: Mapping[str, Any]
    previous: str
    hash: str

    @property
    def text(self) -> str:
        """The line as it stands in the file, without the line's end."""
        said = _open(self.kind, self.number, self.at, self.says, self.previous)
        return canonical_json({**said, "hash": self.hash})


def seal_line(kind: str, at: str, says: Mapping[str, Any], number: int, previous: str) -> SealLine:
    """Line ``number`` after the line whose hash is ``previous``; ``at`` is a stored time (UTC)."""
    said = canonical_json(_open(kind, number, at, says, previous))
    return SealLine(kind, number, at, says, previous, hashlib.sha256(said.encode()).hexdigest())


def _open(kind: str, number: int, at: str, says: Mapping[str, Any], previous: str) -> dict[str, Any]:
    return {"kind": kind, "line": number, "at": at, "previous": previous, **says}


@dataclass(frozen=True, slots=True)
class SealBook:
    """The lines of a seal file that are what was written, and what is wrong with the file itself."""

    file: str
    lines: tuple[SealLine, ...]
    findings: tuple[Finding, ...]
    units: Mapping[str, tuple[SealLine, ...]] = field(default_factory=dict)
    """Serial → the lines about it, in their order."""
    hashes: frozenset[str] = frozenset()
    """The hashes of its lines, by which releases name them."""

    @property
    def first(self) -> str | None:
        """The hash of its first line, which distinguishes a seal file from another one."""
        return self.lines[0].hash if self.lines and self.lines[0].kind == "begun" else None

    @property
    def shop(self) -> str | None:
        """The name of the shop it was begun for."""
        return next((str(line.says["shop"]) for line in self.lines if line.kind == "begun"), None)


def read_seals(content: bytes, file: str) -> SealBook:
    """A seal file's lines, and every finding about the file itself.

    Codes: SEA001 a line was altered, SEA002 lines are missing, swapped or added, SEA003 a line that is none
    (a warning where only the last line broke off, as when the power fails while it is written).
    """
    findings: list[Finding] = []
    lines: list[SealLine] = []
    previous, expected = GENESIS, 1
    *whole, torn = content.split(b"\n")
    for at, raw in enumerate(whole, start=1):
        line = _parsed(raw)
        if line is None:
            findings.append(_found("SEA003", "this line is not a seal", file, at))
            expected += 1
            continue
        if line.number != expected or line.previous != previous:
            what = f"line {line.number} stands where line {expected} after another one is expected"
            findings.append(_found("SEA002", what, file, at))
        previous, expected = line.hash, line.number + 1
        if _sound(line, raw):
            lines.append(line)
        else:
            findings.append(_found("SEA001", "the line is not what was written", file, at))
    if torn:
        what = "the last line broke off while it was written"
        findings.append(
            _found("SEA003", what, file, len(whole) + 1, Weight.WARNING, "run 'traveler records seal'")
        )
    if not lines or lines[0].kind != "begun":
        findings.append(_found("SEA003", "the first line is not the beginning of a seal file", file, 1))
    units: dict[str, list[SealLine]] = {}
    for line in lines:
        if line.kind == "unit":
            units.setdefault(str(line.says["unit"]), []).append(line)
    kept = {serial: tuple(some) for serial, some in units.items()}
    return SealBook(file, tuple(lines), tuple(findings), kept, frozenset(line.hash for line in lines))


def sound_line(raw: bytes) -> SealLine | None:
    """The line these bytes are, without the line's end; None where they are no line or an altered one."""
    line = _parsed(raw)
    return line if line is not None and _sound(line, raw) else None


def _parsed(raw: bytes) -> SealLine | None:
    """The line, or None where it has not the shape of one."""
    try:
        read = json.loads(raw)
    except (ValueError, RecursionError):
        return None
    if not isinstance(read, dict) or not isinstance(read.get("kind"), str):
        return None
    due = _ALWAYS | KEYS.get(read["kind"], {})
    if read["kind"] not in KEYS or set(read) != set(due):
        return None
    if any(type(read[key]) is not kind for key, kind in due.items()):
        return None
    says = {key: read[key] for key in KEYS[read["kind"]]}
    return SealLine(read["kind"], read["line"], read["at"], says, read["previous"], read["hash"])


def _sound(line: SealLine, raw: bytes) -> bool:
    try:
        made = seal_line(line.kind, line.at, line.says, line.number, line.previous)
        return made.hash == line.hash and line.text.encode() == raw
    except (NotStorable, UnicodeEncodeError):
        return False


def against_unit(book: SealBook, serial: str, hashes: Mapping[int, str]) -> Iterator[Finding]:
    """What the seals of a unit say against its chain as it is now: number of an entry → its hash.

    Codes: SEA005 entries that were sealed are gone, SEA006 the sealed head is not in the chain.
    """
    last = max(hashes, default=0)
    for line in book.units.get(serial, ()):
        count, head = int(line.says["count"]), str(line.says["head"])
        when = f"line {line.number} of {book.file}, {line.at[:10]}"
        if count > last:
            what = f"{count} entries were sealed ({when}), {last} are there: the last {count - last} are gone"
            yield _against("SEA005", what, serial, last + 1)
        elif hashes.get(count) != head:
            what = f"entry #{count} is not the one that was sealed ({when}): its hash was {head}"
            yield _against("SEA006", what, serial, count)


def against_absent(book: SealBook, absent: Iterable[str]) -> Iterator[Finding]:
    """SEA004 for each of these serials, which are not in the records, that was sealed."""
    for serial in sorted(absent):
        if lines := book.units.get(serial):
            when = f"line {lines[-1].number} of {book.file}, {lines[-1].at[:10]}"
            what = f"the unit was sealed ({when}) and is gone"
            yield _against("SEA004", what, serial)


def against_store(book: SealBook, present: Iterable[str], units: int, entries: int) -> Iterator[Finding]:
    """What the seals say against the whole of the records: ``present`` serials, how many units and entries.

    Codes: SEA004 a sealed unit is gone, SEA007 there are fewer units or entries than were sealed.
    """
    yield from against_absent(book, set(book.units) - set(present))
    for name, now in (("units", units), ("entries", entries)):
        more = [line for line in book.lines if line.kind == "store" and int(line.says[name]) > now]
        if more:
            most = max(int(line.says[name]) for line in more)
            what = f"{most} {name} were sealed ({book.file}, {more[-1].at[:10]}), {now} are there"
            yield _against("SEA007", what)


def _found(
    code: str, what: str, file: str, line: int, weight: Weight = Weight.BLOCKING, hint: str = _HINT
) -> Finding:
    return Finding(code, what, Place(file, line), weight, hint=hint)


def _against(code: str, what: str, unit: str | None = None, entry: int | None = None) -> Finding:
    hint = "restore a backup beside this store and compare the two"
    return Finding(code, what, Place(unit=unit, entry=entry), hint=hint)


Said = tuple[str, Mapping[str, Any]]
"""Kind of a line and what it says."""

_LONGEST = 4_096
"""Bytes of the longest line there can be; serials and names of shops are short."""


@contextmanager
def seal_file_held(file: Path) -> Iterator[FileIO]:
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


def last_seal_line(opened: FileIO) -> tuple[int, str] | None:
    """Number and hash of the last whole line, (0, 64 zeros) before the first; None where it was altered."""
    size = os.fstat(opened.fileno()).st_size
    opened.seek(max(0, size - 2 * _LONGEST))
    whole = opened.readall().split(b"\n")[:-1]
    if not whole:
        return (0, GENESIS) if size < _LONGEST else None
    line = sound_line(whole[-1])
    return None if line is None else (line.number, line.hash)


def first_seal(opened: FileIO) -> str | None:
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
    write_at_end(opened, "".join(f"{line.text}\n" for line in made).encode())


def write_at_end(opened: FileIO, content: bytes) -> None:
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
    """Adds to a copy of a seal file what it has not yet; False where it is not the beginning of ``content``.

    Raises:
        OSError: it cannot be written.
    """
    with seal_file_held(copy) as opened:
        there = content_of(opened)
        if not content.startswith(there):
            return False
        if len(there) < len(content):
            write_at_end(opened, content[len(there) :])
    return True
