"""The verdict of a unit: plan and entries in, the state of every slot and the findings out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import ClassVar

from traveler.definition.plan import Plan, Slot, SlotKind
from traveler.finding import Finding, blocking, order
from traveler.record.entry import Confirmed, Entry
from traveler.record.records import Unit
from traveler.result import Result
from traveler.verdict.case import Case, Problems
from traveler.verdict.deciding import DecidingReadings, deciding_readings
from traveler.verdict.plan_index import Phase
from traveler.verdict.rows import ReadingRow
from traveler.verdict.rules import gauges as gauging
from traveler.verdict.rules import persons
from traveler.verdict.rules.entries import (
    check_chain,
    check_identity,
    check_slots,
    check_strikes,
)
from traveler.verdict.rules.gauges import gauge_problems
from traveler.verdict.rules.missing import check_missing, open_steps
from traveler.verdict.rules.packing import check_gross_mass, check_wood_mark, is_gross_mass
from traveler.verdict.rules.parts import check_first_piece, check_parts, check_quantities
from traveler.verdict.rules.persons import person_problems
from traveler.verdict.rules.readings import (
    check_adjusted,
    check_confirmed,
    check_copied,
    check_limits,
    check_resolution,
    check_unreadable,
)
from traveler.verdict.rules.sequence import (
    check_around_release,
    check_dates,
    check_hold_points,
    check_late,
    check_life,
    check_operation_order,
    check_signed_complete,
    check_time_order,
)
from traveler.verdict.rules.stops import check_decisions, check_stops, check_worked_on
from traveler.verdict.state import SlotState, UnitState


@dataclass(frozen=True, slots=True)
class SlotVerdict(Result):
    """One slot: its state, the value that stands (as text, in the unit of the limits) and its entry's seq.

    ``reading`` is the row that decides the slot, for readings and worked-out values.
    """

    json_keys: ClassVar[str] = "state value unit entry readings acceptance where"

    slot: str
    state: SlotState
    value: str | None = None
    unit: str | None = None
    entry: int | None = None
    readings: int = 0
    acceptance: str | None = None
    """Acceptance limits as a person would write them, where guarded."""
    where: str = ""
    """For a worked-out value: at which readings, in words."""
    reading: ReadingRow | None = None


@dataclass(frozen=True, slots=True)
class Verdict(Result):
    """The judgment of one unit. ``slots`` is in the order of the work; ``findings`` in their one order."""

    json_keys: ClassVar[str] = "unit state complete accepted slots findings"

    unit: str
    state: UnitState
    slots: dict[str, SlotVerdict] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    complete: bool = False
    """Whether no slot of the build and the final checks is open (crating comes after the release)."""

    @property
    def accepted(self) -> bool:
        """Whether the unit is complete and nothing blocking stands."""
        return self.complete and not blocking(self.findings)

    @property
    def readings(self) -> dict[str, ReadingRow]:
        """Slot → the reading or worked-out value that decides it, in the order of the work."""
        return {name: slot.reading for name, slot in self.slots.items() if slot.reading is not None}


ON_ENTRIES = (
    check_slots,
    check_strikes,
    check_identity,
    check_chain,
    check_signed_complete,
    check_operation_order,
    check_hold_points,
    check_dates,
    check_time_order,
    check_late,
    check_around_release,
    check_life,
    check_parts,
    check_stops,
    check_decisions,
    check_worked_on,
    check_adjusted,
    check_confirmed,
    check_wood_mark,
    check_quantities,
)
"""Checks that need the entries only, in the order in which they are made."""

ON_READINGS = (check_limits, check_unreadable, check_resolution, check_copied)
"""Checks of the readings that rule, in the order in which they are made."""


def judge_case(case: Case) -> Verdict:
    """The judgment of a unit whose surroundings are gathered."""
    decided = deciding_readings(case)
    on_gauges = gauge_problems(case, decided.read)
    on_persons = person_problems(case)
    refused = _refused(case, on_gauges, on_persons)
    findings = [
        *(finding for check in ON_ENTRIES for finding in check(case)),
        *(finding for check in ON_READINGS for finding in check(case, decided)),
        *check_gross_mass(case, {slot: row.value for slot, row in decided.rows.items()}),
        *check_first_piece(case, decided.rows),
        *decided.findings,
        *on_gauges.findings(case),
        *on_persons.findings(case),
    ]
    opened = open_steps(case)
    findings += check_missing(case, opened)
    slots = {slot_verdict.slot: slot_verdict for slot_verdict in _slots(case, decided, refused)}
    complete = not any(step.phase is not Phase.CRATING for step in opened)
    return Verdict(case.unit, case.state, slots, tuple(order(findings)), complete)


def _refused(case: Case, on_gauges: Problems, on_persons: Problems) -> frozenset[str]:
    """The slots whose standing entry is not acceptable because of its gauge or its author."""
    standing = {filled.last.seq for filled in case.filled.values()}
    by_author = {
        slot for problem, met in on_persons.met.items() if problem.code in persons.REFUSING
        for slot, seq in met if slot is not None and seq in standing
    }  # fmt: skip
    return frozenset(on_gauges.slots(gauging.REFUSING) | by_author)


def _slots(case: Case, decided: DecidingReadings, refused: frozenset[str]) -> Iterator[SlotVerdict]:
    for planned in case.index.slots.values():
        slot = planned.slot
        row = decided.rows.get(slot.id)
        filled = case.filled.get(slot.id)
        if row is not None:
            readings = len(filled.entries) if filled is not None else 0
            yield _read(row, readings, refused=slot.id in refused or not refused.isdisjoint(slot.inputs))
        elif filled is None:
            yield SlotVerdict(slot.id, SlotState.OPEN)
        else:
            state = SlotState.REFUSED if slot.id in refused else _written(slot, filled.last)
            count = len(filled.entries) if slot.kind is SlotKind.READING else 0
            yield SlotVerdict(slot.id, state, entry_value(filled.last), None, filled.last.seq, count)


def _read(row: ReadingRow, readings: int, *, refused: bool) -> SlotVerdict:
    """A slot with a reading: out stays out, whatever else is wrong with it."""
    state = SlotState.REFUSED if refused and row.state is not SlotState.OUT else row.state
    return SlotVerdict(
        row.slot, state, row.text, row.unit, row.seq, readings, row.weighed.acceptance, row.worked_at, row
    )


def _written(slot: Slot, entry: Entry) -> SlotState:
    if slot.kind is SlotKind.READING:
        return SlotState.REFUSED
    if isinstance(entry.body, Confirmed) and not entry.body.yes:
        return SlotState.OUT
    return SlotState.DONE


def entry_value(entry: Entry) -> str | None:
    """What an entry wrote into its slot, in a word: the serial of a part, who signed."""
    body = entry.body
    if body.kind in ("signed", "witnessed"):
        return entry.by
    for name in ("value", "written", "name"):
        if (found := getattr(body, name, None)) is not None:
            return str(found)
    if body.kind == "counted":
        return f"{body.good} good, {body.rework} rework, {body.scrap} scrap"
    return None


@dataclass(frozen=True, slots=True)
class Judged:
    """A unit with its plan, its entries and what follows from them."""

    unit: Unit
    plan: Plan
    entries: tuple[Entry, ...]
    case: Case
    verdict: Verdict


def weighed_mass(judged: Judged) -> str | None:
    """The gross mass that stands, with its unit; None where the plan does not ask for it or it is open."""
    weighed = (step for step in judged.plan.steps() if is_gross_mass(judged.plan, step))
    for slot in (judged.verdict.slots[slot.id] for step in weighed for slot in step.slots):
        if slot.value is not None:
            return f"{slot.value} {slot.unit}"
    return None
