"""The floor: where every unit is, what it waits for, how late it is, and the next command for one unit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from traveler.definition.plan import SlotKind
from traveler.finding import Finding, blocking
from traveler.record.entry import Entry, Issued
from traveler.record.records import Unit
from traveler.result import Result
from traveler.shop.session import Session
from traveler.text import days_late, read_day
from traveler.trace.cases import cases_of
from traveler.trace.history import whereabouts
from traveler.trace.judging import judge, judge_all
from traveler.verdict.advice import adjusting
from traveler.verdict.codes import CODES
from traveler.verdict.judge import Judged
from traveler.verdict.plan_index import Phase
from traveler.verdict.rules.missing import OpenStep, describe, open_steps
from traveler.verdict.state import SlotState

WORKED_ON = ("issued", "building", "inspection", "stopped")
"""States in which a unit has work before it."""

LEFT = ("shipped", "scrapped")
"""States of units that are no longer on the floor."""

STEPS: dict[str, tuple[str, str]] = {
    "released": ("the crate", "crate {serial} --by ID"),
    "crated": ("a place in stock", "place {serial} --to PLACE --by ID"),
    "in stock": ("shipment", "ship {serial} --to CUSTOMER --by ID"),
}
"""State after the release → what the unit waits for, and the command for it."""

VALUES: dict[SlotKind, str] = {
    SlotKind.TICK: "yes",
    SlotKind.CONFIRM: "yes",
    SlotKind.PACKED: "yes",
    SlotKind.READING: "VALUE --gauge ID",
    SlotKind.PART: "NUMBER",
    SlotKind.WITNESS: "ID",
    SlotKind.SIGN: "ID",
    SlotKind.COUNT: "GOOD/REWORK/SCRAP",
}
"""Kind of slot → what is entered into it."""


@dataclass(frozen=True, slots=True)
class UnitStatus(Result):
    """Where a unit is and what it waits for. ``next`` is the next command, or empty.

    ``done`` of ``slots`` are written; ``blocked_by`` are the findings that block, where it was judged.
    """

    json_keys: ClassVar[str] = (
        "serial built_as state where operation waits_for due days_late done slots blocked_by next"
    )

    serial: str
    built_as: str
    state: str
    where: str
    waits_for: str
    due: date | None
    days_late: int
    operation: str = ""
    done: int = 0
    slots: int = 0
    blocked_by: tuple[Finding, ...] = ()
    next: str = ""


@dataclass(frozen=True, slots=True)
class StatusOn:
    """Makes the status of a judged unit on a day, in whatever process it was judged."""

    today: date

    def __call__(self, judged: Judged) -> UnitStatus:
        """The status of this unit."""
        verdict, entries = judged.verdict, judged.entries
        state, first = str(verdict.state), entries[0]
        due = _due(first)
        waits_for, operation, command = _waiting(judged)
        return UnitStatus(
            judged.unit.serial,
            _built_as(judged.unit),
            state,
            whereabouts(state, entries),
            waits_for,
            due,
            _late(due, self.today, state),
            operation,
            sum(slot.state is not SlotState.OPEN for slot in verdict.slots.values()),
            len(verdict.slots),
            tuple(blocking(verdict.findings)),
            command,
        )


def unit_status(session: Session, serial: str) -> UnitStatus:
    """The status of one unit.

    Raises:
        CannotDo: no unit of this serial was issued here.
    """
    with session.store.reading() as records:
        return StatusOn(session.today)(judge(session, records, serial))


def floor(session: Session, *, every: bool = False) -> tuple[UnitStatus | Finding, ...]:
    """Every unit that has not left, the latest first, then by due day; ``every``: those that left too.

    Units after their release are not judged: their state says what they wait for. CHN001 in the place of a
    unit whose record cannot be read.
    """
    with session.store.reading() as records:
        units = [unit for unit in records.units() if every or unit.state not in LEFT]
        after = {unit.serial: unit for unit in units if unit.state not in WORKED_ON}
        steps = records.entries_of_kinds(after, ("issued", "placed", "shipped", "struck"))
    own: dict[str, list[Entry]] = {serial: [] for serial in after}
    for entry in steps:
        own[entry.unit].append(entry)
    found: list[UnitStatus | Finding] = [
        _after_release(after[serial], entries, session.today) for serial, entries in own.items()
    ]
    working = [unit.serial for unit in units if unit.serial not in after]
    found += judge_all(session, working, StatusOn(session.today))
    return tuple(sorted(found, key=_urgency))


def _urgency(status: UnitStatus | Finding) -> tuple[int, date, str]:
    if isinstance(status, Finding):
        return (-1_000_000, date.min, status.place.unit or "")
    return -status.days_late, status.due or date.max, status.serial


def _after_release(unit: Unit, entries: list[Entry], today: date) -> UnitStatus:
    due = _due(entries[0]) if entries else None
    waits_for = STEPS[unit.state][0] if unit.state in STEPS else ""
    late = _late(due, today, unit.state)
    where = whereabouts(unit.state, entries)
    return UnitStatus(unit.serial, _built_as(unit), unit.state, where, waits_for, due, late)


def _built_as(unit: Unit) -> str:
    return f"{unit.product} {unit.variant} {unit.revision}"


def _due(issued: Entry) -> date | None:
    """The day a unit is wanted, from the entry of its issue."""
    body = issued.body
    return read_day(body.due) if isinstance(body, Issued) and body.due else None


def _late(due: date | None, today: date, state: str) -> int:
    return days_late(due, today) if due is not None and state not in LEFT else 0


def _waiting(judged: Judged) -> tuple[str, str, str]:
    """What the unit waits for, at which operation, and the next command.

    In this order: a decision on a stop, what blocks, open slots, the next step after the build.
    """
    serial, state = judged.unit.serial, str(judged.verdict.state)
    opened = _open_now(judged)
    operation = f"{opened[0].operation.number} {opened[0].operation.title}" if opened else ""
    if state == "scrapped":
        return "", "", ""
    for stop in judged.case.stops:
        if stop.open:
            number = stop.entry.seq
            return (
                f"a decision on stop #{number}: {stop.what}",
                operation,
                f"traveler unit decide {serial} {number} --as DECISION --by ID",
            )
    if state == "shipped":
        case = next((case for case in cases_of(judged.entries) if not case.closed), None)
        return (
            (f"case {case.name}: {case.state}", "", f"traveler case show {case.name}") if case else ("",) * 3
        )
    for slot, finding in _blocked(judged):
        return f"{slot}: {CODES[finding.code].title}", operation, _mend(judged, slot, finding)
    if opened:
        return describe(opened[0]), operation, _enter(judged, opened[0].slots[0])
    if state in STEPS:
        waits_for, command = STEPS[state]
        return waits_for, "", f"traveler {command.format(serial=serial)}"
    return "release", "", f"traveler release {serial} --by ID"


def _open_now(judged: Judged) -> list[OpenStep]:
    """The open steps of the part of the work that the unit is in."""
    crating = str(judged.verdict.state) not in WORKED_ON
    return [step for step in open_steps(judged.case) if (step.phase is Phase.CRATING) == crating]


def _blocked(judged: Judged) -> Iterator[tuple[str, Finding]]:
    """Slots with a blocking finding, in the order of the work."""
    rank = {slot: number for number, slot in enumerate(judged.verdict.slots)}
    found = [finding for finding in blocking(judged.verdict.findings) if finding.place.slot in rank]
    for finding in sorted(found, key=lambda finding: rank[finding.place.slot or ""]):
        yield finding.place.slot or "", finding


def _mend(judged: Judged, slot: str, finding: Finding) -> str:
    """The command that does something about a blocking finding of a slot."""
    step = judged.plan.step_of.get(slot)
    if finding.code in ("REA001", "REA002") and step is not None and adjusting(judged.plan, step) is not None:
        return f"traveler adjust {judged.unit.serial} {slot}"
    if finding.code in ("REA001", "REA014"):
        return f'traveler stop {judged.unit.serial} --slot {slot} --reason "TEXT" --by ID'
    if finding.code.startswith("ENT") and finding.place.entry is not None:
        return f'traveler unit strike {judged.unit.serial} {finding.place.entry} --reason "TEXT" --by ID'
    return _enter(judged, slot)


def _enter(judged: Judged, slot: str) -> str:
    serial, kind = judged.unit.serial, judged.plan.by_slot[slot].kind
    if kind is SlotKind.PHOTO:
        return f"traveler unit attach {serial} FILE --slot {slot} --by ID"
    if kind is SlotKind.WORKED:
        inputs = judged.plan.by_slot[slot].inputs
        return _enter(judged, inputs[0]) if inputs else f"traveler validate {serial} --slots"
    return f"traveler enter {serial} {slot} {VALUES[kind]} --by ID"
