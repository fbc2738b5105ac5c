"""Recording results, from files or typed in one by one: each file all or nothing, judged at once."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import ClassVar

from traveler.definition.serial import serial_problem, tidy_serial
from traveler.finding import Finding, Place, Weight, blocking
from traveler.jobs.append import Appended, Proposal, Refuse, append
from traveler.jobs.sign import unknown_person
from traveler.record.entry import Draft, Entry
from traveler.record.plans import UnknownUnit
from traveler.record.readers.cells import Cell, ResultRow, Results
from traveler.record.readers.files import read_results
from traveler.record.readers.understand import UnitContext, understand_results
from traveler.record.store import Transaction
from traveler.result import Result
from traveler.shop.session import Session
from traveler.trace.judging import judge
from traveler.verdict.judge import Judged


@dataclass(frozen=True, slots=True)
class FileRecorded(Result):
    """What became of one file: how many entries were added, how many were there already, or why neither.

    ``entries`` are those that were added, ``judged`` is the unit with them.
    """

    json_keys: ClassVar[str] = "file serial added known findings"

    file: Path
    serial: str | None
    known: int
    findings: tuple[Finding, ...]
    entries: tuple[Entry, ...] = ()
    judged: Judged | None = None

    @property
    def added(self) -> int:
        """How many entries were added."""
        return len(self.entries)


@dataclass(frozen=True, slots=True)
class Recorded:
    """All files in the order given, and the verdict of every unit they are about, as it is now."""

    files: tuple[FileRecorded, ...]
    units: tuple[Judged, ...]


def record(session: Session, files: Sequence[tuple[Path, bytes]], by: str | None = None) -> Recorded:
    """Records files of results and judges the units; a file with a blocking finding adds nothing.

    ``by`` is who did what a file names nobody for. Findings in files: those of
    :func:`traveler.record.readers.understand.understand_results`; SER001, SER002 a serial that cannot be
    right; REC001 a unit never issued here; PER001 a person nobody knows.

    Raises:
        StoreError: the records cannot be written; files before this one are recorded.
    """
    done = tuple(
        record_results(session, path, read_results(content, str(path)), by) for path, content in files
    )
    units = {file.judged.unit.serial: file.judged for file in done if file.judged is not None}
    if len(units) > 1:  # what one file adds may change the verdict of the unit of another
        with session.store.reading() as records:
            units = {serial: judge(session, records, serial) for serial in units}
    return Recorded(done, tuple(units.values()))


def record_results(session: Session, path: Path, results: Results, by: str | None) -> FileRecorded:
    """Records results however they came, as :func:`record` does; ``path`` is what the answer calls them."""
    wrong = _wrong_serial(results)
    if wrong is not None or results.serial is None:
        return FileRecorded(path, None, 0, (*results.findings, *([wrong] if wrong else ())))
    serial = tidy_serial(results.serial)
    try:
        done, known = _append_results(session, serial, results, by)
    except UnknownUnit as unknown:
        finding = Finding("REC001", unknown.what, results.head["serial"].place, hint=unknown.hint)
        return FileRecorded(path, None, 0, (*results.findings, finding))
    return FileRecorded(path, serial, known, done.findings, done.entries, done.judged)


def _take_all(_judged: Judged, _new: Sequence[Entry]) -> tuple[Finding, ...]:
    """Entries from a file are written whatever the verdict has against them, so that it tells of them."""
    return ()


def _append_results(
    session: Session, serial: str, results: Results, by: str | None, refuse: Refuse = _take_all
) -> tuple[Appended, int]:
    """The results appended to their unit, and how many were there already."""
    known = 0

    def propose(before: Judged, work: Transaction) -> Proposal:
        nonlocal known
        unit = UnitContext(serial, before.plan, before.entries, session.now, session.shop.zone, by)
        asked = understand_results(results, unit)
        new = () if work.seen(results.digest, serial) else asked.drafts
        known = asked.known + len(asked.drafts) - len(new)
        work.mark_seen(results.digest, serial, session.now)
        return Proposal(new, (*asked.findings, *_unknown_people(session, results, asked.drafts)))

    done = append(session, serial, propose, refuse=refuse)
    return done, known if done.taken else 0


def _wrong_serial(results: Results) -> Finding | None:
    """What is wrong with the serial in the file, at its place; a file without one says so too."""
    head = results.head.get("serial")
    if head is None:
        if blocking(results.findings):
            return None
        hint = "give it the line 'serial: …', or use 'traveler unit blank'"
        return Finding("RES040", "the file names no unit", Place(results.file), hint=hint)
    wrong = serial_problem(head.text)
    return replace(wrong, place=head.place) if wrong is not None else None


def _unknown_people(session: Session, results: Results, drafts: Iterable[Draft]) -> Iterator[Finding]:
    """PER001 for each id nobody has: most often a slip of the pen, which would stay in the record."""
    for person in dict.fromkeys(draft.by for draft in drafts):
        for finding in unknown_person(session, person):
            yield replace(finding, place=_named(results, person))


def _named(results: Results, person: str) -> Place:
    """Where in the file the person is named first."""
    said: list[Cell] = list(results.head.values())
    for row in results.rows:
        said += row.said.values()
    for remark in results.remarks:
        said += remark.said.values()
    found = (value.place for value in said if value.text.lower() == person)
    return next(found, Place(results.file))


@dataclass(frozen=True, slots=True)
class TypedResult:
    """What is typed in: the slot, the value as it stands on the paper, and what stands beside it."""

    slot: str
    value: str
    unit: str | None = None
    gauge: str | None = None
    as_found: bool = False
    note: str | None = None


SLIPS = frozenset({"GAU002", "PAR006", "SEQ004", "SEQ005"})
"""Findings that show a slip of the keys: an unknown gauge, a lot for a serial, a time that cannot be."""

DOUBTED = frozenset({"REA006"})
"""Findings that most often show one: a value so far off that its unit or decimal point is wrong."""


def enter(
    session: Session,
    serial: str,
    result: TypedResult,
    by: str,
    at: datetime | None = None,
    *,
    sure: bool = False,
) -> Appended:
    """Records one result of a slot; it is done now unless ``at`` says when, and judged at once.

    A slip of the keys is refused, not written; ``sure``: an implausible value is taken as it is.

    Findings: those of :func:`traveler.record.readers.understand.understand_results`, at the unit and not
    at a line, PER001, and those of :data:`SLIPS` and :data:`DOUBTED`.

    Raises:
        CannotDo: no unit of this serial was issued here.
        StoreError: the records cannot be written.
    """

    def slips(judged: Judged, new: Sequence[Entry]) -> Iterator[Finding]:
        numbers = {entry.seq for entry in new}
        for finding in judged.verdict.findings:
            if finding.place.entry in numbers and finding.code in SLIPS:
                yield finding
            elif finding.place.entry in numbers and finding.code in DOUBTED and not sure:
                hint = "; ".join(filter(None, (finding.hint.rstrip("."), "if it is right, add --sure")))
                yield replace(finding, weight=Weight.BLOCKING, hint=hint)

    return _append_results(session, serial, as_results(session, serial, result, by, at), by, slips)[0]


def as_results(session: Session, serial: str, result: TypedResult, by: str, at: datetime | None) -> Results:
    """The result in the form in which files of results are read."""
    place = Place(unit=serial)
    when = (at or session.now).astimezone(session.shop.zone).isoformat(timespec="microseconds")
    said = {
        "value": result.value, "unit": result.unit, "gauge": result.gauge, "note": result.note,
        "as_found": "yes" if result.as_found else None, "by": by, "at": when,
    }  # fmt: skip
    row = ResultRow(
        Cell(result.slot, place), {name: Cell(text, place) for name, text in said.items() if text}
    )
    digest = hashlib.sha256(repr((serial, result, by, when, session.now)).encode()).hexdigest()
    return Results(serial, "paper", digest, {"serial": Cell(serial, place)}, (row,))
