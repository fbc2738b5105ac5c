"""Units that are stopped, and how long a unit has been in its state."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import ClassVar

from traveler.definition.plan import Plan
from traveler.record.entry import Entry, standing_entries
from traveler.record.records import Records, Unit
from traveler.result import Result
from traveler.trace.history import whereabouts
from traveler.verdict.state import LIFE, NO_WORK, Stop, UnitState, state_after, stops_of

TOLD = ("stopped", "decided", "struck", "placed", "shipped")
"""The kinds of entries that say what is stopped, what was decided on it, and where the unit is."""


@dataclass(frozen=True, slots=True)
class StoppedUnit(Result):
    """One stop of one unit. ``where`` is where the unit is now."""

    json_keys: ClassVar[str] = (
        "serial=unit.serial product=unit.product order=unit.order where stop=stop.entry.seq "
        "slot=stop.entry.slot what=stop.what by=stop.entry.by at=stop.entry.at state "
        "decision=stop.decision decided_by=stop.decided.by decided_at=stop.decided.at"
    )

    unit: Unit
    where: str
    stop: Stop

    @property
    def state(self) -> str:
        """``open``, or what was decided."""
        decision = self.stop.decision
        return "open" if decision is None else decision.decision.replace("_", " ")


def stops_of_shop(records: Records, *, every: bool = False) -> tuple[StoppedUnit, ...]:
    """The open stops of the shop, the oldest first; ``every``: those decided on too."""
    units = {unit.serial: unit for unit in records.stopped_units()}
    entries = records.entries_of_kinds(units, TOLD)
    found = (
        stopped_unit
        for serial, own in groupby(entries, key=lambda entry: entry.unit)
        for stopped_unit in _of_unit(units[serial], tuple(own))
        if every or stopped_unit.stop.open
    )
    return tuple(
        sorted(found, key=lambda entry: (entry.stop.entry.at, entry.unit.serial, entry.stop.entry.seq))
    )


def _of_unit(unit: Unit, entries: tuple[Entry, ...]) -> Iterator[StoppedUnit]:
    where = whereabouts(unit.state, entries).text
    return (StoppedUnit(unit, where, stop) for stop in stops_of(standing_entries(entries)))


AGEING: dict[str, int] = {
    "issued": 30,
    "building": 14,
    "inspection": 5,
    "stopped": 3,
    "released": 5,
    "crated": 5,
    "in stock": 180,
}
"""Days in a state after which a unit is listed, unless ``ageing_days`` of the shop says otherwise."""

LATE = frozenset({str(state) for state in LIFE.values()})
"""States that one entry brings about; only entries of such kinds are needed to date them."""

TURNING = frozenset({*LIFE, "signed", "witnessed", "stopped", "decided", "struck", "issued"})
"""Kinds of entries that may bring a unit into another state, besides the first work on it."""


def in_state_since(entries: Sequence[Entry], plan: Plan | None = None) -> datetime:
    """When the unit came into its present state: when the entry was done that brought it there.

    ``entries`` are all of the unit's, or at least those of :data:`TURNING` for states of :data:`LATE`.

    Raises:
        ValueError: there is no entry.
    """
    ordered = sorted(entries, key=lambda entry: entry.seq)
    if not ordered:
        msg = "a unit without an entry is in no state"
        raise ValueError(msg)
    state = state_after(ordered, plan)
    for at in range(len(ordered) - 1, 0, -1):
        if _may_turn(ordered, at, state) and state_after(ordered[:at], plan) != state:
            return ordered[at].at
    return ordered[0].at


def _may_turn(ordered: Sequence[Entry], at: int, state: UnitState) -> bool:
    """Whether the state may have been another before this entry: a cheap look before the thorough one."""
    if ordered[at].body.kind in TURNING or ordered[at - 1].body.kind in NO_WORK:
        return True
    before, here = (ordered[number].slot or "" for number in (at - 1, at))
    return state in (UnitState.BUILDING, UnitState.INSPECTION) and before[:1] != here[:1]
