"""The floor: where every unit is, what it waits for, how late it is, and the next command for one unit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from traveler.definition.plan import SlotKind
from traveler.finding import Finding, blocking
from traveler.record.entry import Entry, Issued, standing_entries
from traveler.record.records import Unit
from traveler.result import Result
from traveler.shop.session import Session
from traveler.text import days_late, read_day
from traveler.trace.cases import cases_of
from traveler.trace.history import Whereabouts, whereabouts
from traveler.trace.judging import judge, judge_all
from traveler.trace.where_used import by_unit
from traveler.verdict.advice import adjusting
from traveler.verdict.codes import CODES
from traveler.verdict.judge import Judged
from traveler.verdict.plan_index import Phase
from traveler.verdict.rules.missing import OpenStep, describe, open_steps
from traveler.verdict.state import SlotState, stops_of

WORKED_ON = ("issued", "building", "inspection", "stopped")
"""States in which a unit has work before it."""

NO_WORK_LEFT = ("shipped", "scrapped")
"""States of units that are not judged for the list: no work is left on them."""

TOLD_WITHOUT_WORK = (
    "issued",
    "placed",
    "shipped",
    "struck",
    "stopped",
    "decided",
    "complained",
    "followed_up",
)
"""The kinds of entries that say what a unit that left waits for."""

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

    ``done`` of ``slots`` are written; ``blocked_by`` are the findings that block. The three are None
    where the unit was not judged.
    """

    json_keys: ClassVar[str] = (
        "serial built_as state where=place.text operation waits_for due days_late done slots blocked_by next"
    )

    serial: str
    built_as: str
    state: str
    place: Whereabouts
    waits_for: str
    due: date | None
    days_late: int
    operation: str = ""
    next: str = ""
    done: int | None = None
    slots: int | None = None
    blocked_by: tuple[Finding, ...] | None = None


@dataclass(frozen=True, slots=True)
class StatusOn:
    """Makes the status of a judged unit on a day, in whatever process it was judged."""

    today: date

    def __call__(self, judged: Judged) -> UnitStatus:
        """The status of this unit."""
        verdict = judged.verdict
        return replace(
            self.told(judged.unit, str(verdict.state), judged.entries, judged),
            done=sum(slot.state is not SlotState.OPEN for slot in verdict.slots.values()),
            slots=len(verdict.slots),
            blocked_by=tuple(blocking(verdict.findings)),
        )

    def told(
        self, unit: Unit, state: str, entries: Sequence[Entry], judged: Judged | None = None
    ) -> UnitStatus:
        """The status as far as these entries tell it; of a unit on the floor only if it is judged."""
        issued = entries[0].body if entries else None
        due = read_day(issued.due) if isinstance(issued, Issued) and issued.due else None
        place = whereabouts(state, entries)
        late = days_late(due, self.today) if due is not None and place.here else 0
        opened = _open_now(judged) if judged is not None and place.here else []
        operation = f"{opened[0].operation.number} {opened[0].operation.title}" if opened else ""
        waits_for, command = _asked(unit.serial, state, entries) or _at_work(judged, opened)
        built_as = f"{unit.product} {unit.variant} {unit.revision}"
        return UnitStatus(unit.serial, built_as, state, place, waits_for, due, late, operation, command)


def unit_status(session: Session, serial: str) -> UnitStatus:
    """The status of one unit.

    Raises:
        CannotDo: no unit of this serial was issued here.
    """
    with session.store.reading() as records:
        return StatusOn(session.today)(judge(session, records, serial))


def floor(session: Session, *, every: bool = False) -> tuple[UnitStatus | Finding, ...]:
    """Every unit that is here, the latest first, then by due day; ``every``: all units.

    Units without work are not judged: their stops and cases say what they wait for. CHN001 in the place of a
    unit whose record cannot be read.
    """
    status_on = StatusOn(session.today)
    with session.store.reading() as records:
        units = records.units()
        left = {unit.serial: unit for unit in units if every and unit.state in NO_WORK_LEFT}
        told = by_unit(records.entries_of_kinds(left, TOLD_WITHOUT_WORK))
    found: list[UnitStatus | Finding] = [
        status_on.told(unit, unit.state, told.get(serial, ())) for serial, unit in left.items()
    ]
    judged = judge_all(session, [unit.serial for unit in units if unit.state not in NO_WORK_LEFT], status_on)
    found += (status for status in judged if every or isinstance(status, Finding) or status.place.here)
    return tuple(sorted(found, key=_urgency))


def _urgency(status: UnitStatus | Finding) -> tuple[int, date, str]:
    if isinstance(status, Finding):
        return (-1_000_000, date.min, status.place.unit or "")
    return -status.days_late, status.due or date.max, status.serial


def _asked(serial: str, state: str, entries: Sequence[Entry]) -> tuple[str, str] | None:
    """What the unit waits for by its state, stops and cases, and the next command; None: its work says it.

    A decision on a stop comes first; a unit that was shipped waits for the end of its first open case.
    """
    if state == "scrapped":
        return "", ""
    stop = next((stop for stop in stops_of(standing_entries(entries)) if stop.open), None)
    if stop is not None:
        number = stop.entry.seq
        command = f"traveler unit decide {serial} {number} --as DECISION --by ID"
        return f"a decision on stop #{number}: {stop.what}", command
    if state != "shipped":
        return None
    case = next((case for case in cases_of(entries) if not case.closed), None)
    return (f"case {case.name}: {case.state}", f"traveler case show {case.name}") if case else ("", "")


def _at_work(judged: Judged | None, opened: Sequence[OpenStep]) -> tuple[str, str]:
    """What the unit waits for, and the next command: what blocks, open slots, the next step of its life."""
    if judged is None:
        return "", ""
    serial, state = judged.unit.serial, str(judged.verdict.state)
    for slot, finding in _blocked(judged):
        return f"{slot}: {CODES[finding.code].title}", _mend(judged, slot, finding)
    if opened:
        return describe(opened[0]), _enter(judged, opened[0].slots[0])
    done = "crated" if state == "released" and not judged.plan.has_crating else state
    waits_for, command = STEPS.get(done, ("release", "release {serial} --by ID"))
    return waits_for, f"traveler {command.format(serial=serial)}"


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
