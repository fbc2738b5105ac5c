"""Stopping units, one or all of a list, and deciding what is done about a stop."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import ClassVar, Literal

from traveler.definition.serial import serial_problem, tidy_serial
from traveler.finding import CannotDo, Finding, Place, blocking
from traveler.jobs.append import Appended, Proposal, add, append
from traveler.jobs.sign import unsigned
from traveler.record.entry import Decided, Entry, Stopped, standing_entries
from traveler.record.plans import UnknownUnit, known_unit
from traveler.record.readers.cells import decode
from traveler.record.readers.table import LARGEST, BrokenTable, table_lines
from traveler.record.store import Transaction
from traveler.result import Result
from traveler.shop.session import Session
from traveler.trace.history import whereabouts
from traveler.trace.recall import Recall, affected_serials
from traveler.verdict.judge import Judged
from traveler.verdict.rules.persons import decision_action
from traveler.verdict.rules.stops import may_decide
from traveler.verdict.state import WORKED_ON, stops_of


@dataclass(frozen=True, slots=True)
class ListedSerial:
    """A serial as somebody wrote it into a list, and where it stands there."""

    text: str
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class Stopping(Result):
    """What became of one unit.

    ``entry`` is the stop as kept, or the same stop as it stands already (then ``new`` is false), or None
    where a finding stands in the way. ``was`` and ``where`` say where the unit was before and is now.
    """

    json_keys: ClassVar[str] = "serial stop=entry.seq new was where findings"

    serial: str
    entry: Entry | None
    new: bool
    was: str
    where: str
    findings: tuple[Finding, ...]


def stop(
    session: Session,
    serial: str,
    what: str,
    by: str,
    *,
    slot: str | None = None,
    at: datetime | None = None,
) -> Stopping:
    """Stops a unit, or one slot of it, in whatever state it is; in stock and with the customer too.

    The same stop that is still open is not written again. Findings: PER001, PER003, GAT002 who may not;
    ENT001 no such slot; SEQ004, SEQ005 dated wrongly.

    Raises:
        CannotDo: ``what`` is empty, or no unit of this serial was issued here.
    """
    said = _said(what)
    with session.store.reading() as records:
        unit, entries = known_unit(records, serial), records.entries(serial)
    was = whereabouts(unit.state, entries).text
    standing = _same(entries, said, slot)
    if standing is not None:
        return Stopping(serial, standing, False, was, was, ())
    added = add(session, serial, Stopped(what=said), by, action="stop", slot=slot, at=at)
    where = whereabouts(str(added.judged.verdict.state), added.judged.entries).text
    return Stopping(serial, added.entry, added.entry is not None, was, where, added.findings)


def stop_all(
    session: Session, listed: Iterable[ListedSerial | str], what: str, by: str, *, at: datetime | None = None
) -> Iterator[Stopping]:
    """Stops every unit of a list, one after the other; one that cannot be stopped does not hold up the rest.

    A serial that stands in the list twice is stopped once, and a list may be given again after an
    interruption. Findings: as in :func:`stop`, with the place in the list; SER001, SER002 a serial that
    cannot be right; REC001 a unit never issued here.

    Raises:
        CannotDo: ``what`` is empty.
    """
    said = _said(what)
    given = [ListedSerial(item) if isinstance(item, str) else item for item in listed]
    first = {tidy_serial(item.text): item for item in reversed(given)}
    serials = dict.fromkeys(tidy_serial(item.text) for item in given)
    return (_stop_listed(session, serial, first[serial], said, by, at) for serial in serials)


def stop_affected(session: Session, recalled: Recall, by: str) -> Iterator[Stopping]:
    """Stops the affected units that are still here, one after the other, as the result is gone through."""
    what = f"Measured with {recalled.gauge}, which was wrong by {recalled.error}: measure again"
    return stop_all(session, affected_serials(recalled, shipped=False), what, by)


def _said(what: str) -> str:
    """What is wrong, in one line.

    Raises:
        CannotDo: it is empty.
    """
    said = " ".join(what.split())
    if not said:
        problem = "what is wrong is missing"
        raise CannotDo(problem, 'give it with --reason "…"')
    return said


def _stop_listed(
    session: Session, serial: str, item: ListedSerial, what: str, by: str, at: datetime | None
) -> Stopping:
    """Stops a unit of a list; findings are at its line there."""
    wrong = serial_problem(item.text)
    if wrong is None:
        try:
            done = stop(session, serial, what, by, at=at)
        except UnknownUnit as unknown:
            wrong = Finding("REC001", unknown.what, hint=unknown.hint)
        else:
            told = (replace(finding, place=item.place or finding.place) for finding in done.findings)
            return replace(done, findings=tuple(told))
    return Stopping(serial, None, False, "", "", (replace(wrong, place=item.place or Place(unit=serial)),))


def _same(entries: tuple[Entry, ...], what: str, slot: str | None) -> Entry | None:
    """The stop in the same words of the same slot that nobody decided on yet."""
    found = (stop for stop in stops_of(standing_entries(entries)) if stop.open and stop.slot == slot)
    return next((stop.entry for stop in found if stop.what == what), None)


def refused(stopped: Iterable[Stopping]) -> tuple[Stopping, ...]:
    """Those that could not be stopped."""
    return tuple(stopping for stopping in stopped if blocking(stopping.findings))


Decision = Literal["rework", "repair", "use_as_is", "scrap", "return_to_supplier", "no_fault"]

CONCEDED = ("use_as_is", "repair")
"""Decisions that may name a concession: the unit will not be as specified."""


@dataclass(frozen=True, slots=True)
class Disposition:
    """What is decided. ``measure_again`` names slots, steps or checks, on top of the slot that is stopped."""

    decision: Decision
    concession: str | None = None
    text: str = ""
    measure_again: tuple[str, ...] = field(default_factory=tuple)


def decide(
    session: Session, serial: str, stop: int, asked: Disposition, by: str, *, at: datetime | None = None
) -> Appended:
    """Decides on the stop with this number; of two decisions on one stop the later counts.

    Findings: those of :func:`traveler.verdict.rules.stops.may_decide`.

    Raises:
        CannotDo: a concession where none is given, or no unit of this serial was issued here.
    """
    body = _body(stop, asked)
    when = at or session.now

    def propose(before: Judged, _: Transaction) -> Proposal:
        refused = may_decide(before.case, body, by, when)
        findings = (*refused, *unsigned(session, decision_action(body), by, Place(unit=serial)))
        slot = next((halt.slot for halt in before.case.stops if halt.entry.seq == stop), None)
        return Proposal([session.draft(serial, by, body, at=when, slot=slot)], findings)

    return append(session, serial, propose)


def _body(stop: int, asked: Disposition) -> Decided:
    concession = (asked.concession or "").strip() or None
    if concession is not None and asked.decision not in CONCEDED:
        what = f"a concession does not go with '{asked.decision.replace('_', ' ')}'"
        raise CannotDo(what, "leave it out, or decide 'use as is' or 'repair'")
    return Decided(
        stop=stop,
        decision=asked.decision,
        concession=concession,
        text=" ".join(asked.text.split()),
        measure_again=tuple(dict.fromkeys(slot.strip() for slot in asked.measure_again if slot.strip())),
    )


def to_do(decision: Decision, measure_again: tuple[str, ...] = ()) -> str:
    """What follows from a decision, in a few words."""
    if decision in WORKED_ON:
        named = f": {', '.join(measure_again)}" if measure_again else ""
        return f"do it, then measure again{named}; the unit is inspected and released again"
    return {
        "use_as_is": "the unit is used as is; the certificate shows it",
        "scrap": "it goes no further",
        "return_to_supplier": "it stays stopped until something replaces it or it is decided again",
        "no_fault": "the work goes on",
    }[decision]


HEAD = "serial"


def read_serials(content: bytes, file: str) -> tuple[ListedSerial, ...]:
    """The serials of a list, each with its line: one a line, or the column ``serial`` of a table.

    Comma, semicolon or tab between columns; blank lines and lines that begin with ``#`` are passed over.

    Raises:
        CannotDo: it is not text in UTF-8, or there is no serial in it.
    """
    text = decode(content, file, LARGEST)
    if isinstance(text, Finding):
        raise CannotDo(f"{file}: {text.what}", text.hint)
    try:
        lines = [(line, cells) for line, cells in table_lines(text, HEAD) if not cells[0].startswith("#")]
    except BrokenTable as broken:
        raise CannotDo(f"{file}:{broken.line}: {broken.what}", broken.hint) from broken
    names = [name.lower() for name in lines[0][1]] if lines else []
    column = names.index(HEAD) if HEAD in names else 0
    found = tuple(
        ListedSerial(cells[column], Place(file, line))
        for line, cells in lines[1 if HEAD in names else 0 :]
        if column < len(cells) and cells[column]
    )
    if not found:
        what = f"there is no serial in {file}"
        raise CannotDo(what, "write one in each line")
    return found
