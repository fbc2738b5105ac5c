"""Where a unit is in its life, from its entries alone."""

from __future__ import annotations

from collections.abc import Sequence

from traveler.definition.plan import Operation, Plan, SlotKind
from traveler.record.entry import Entry
from traveler.verdict.counting import counting
from traveler.verdict.outcome import UnitState
from traveler.verdict.planned import Phase, phase_of
from traveler.verdict.stops import WORKED_ON, Stop, stops_of

LIFE: dict[str, UnitState] = {
    "released": UnitState.RELEASED,
    "crated": UnitState.CRATED,
    "placed": UnitState.IN_STOCK,
    "shipped": UnitState.SHIPPED,
}
"""Kind of entry → the state it brings the unit into."""

NO_WORK = frozenset(
    {"issued", "reprinted", "noted", "complained", "followed_up", "stopped", "decided", "struck"}
)
"""Kinds that do not begin the build."""


def state_after(entries: Sequence[Entry], plan: Plan | None = None) -> UnitState:
    """The state of the unit after these entries (all of them, struck ones too; in any order).

    ``issued → building → inspection → released → crated → in stock → shipped``; ``stopped`` while the whole
    unit is stopped, ``scrapped`` for good. With the plan, a unit whose build operations are all closed waits
    for inspection; without it only the first entry on the final checklist shows that. After a rework or
    repair the unit goes through inspection and release again.
    """
    standing = counting(sorted(entries, key=lambda one: one.seq))
    return state_of(standing, stops_of(standing), plan)


def state_of(standing: Sequence[Entry], stops: Sequence[Stop], plan: Plan | None) -> UnitState:
    """The state from entries that count, in the order of their numbers, and the stops among them."""
    if any(stop.slot is None and stop.decision and stop.decision.decision == "scrap" for stop in stops):
        return UnitState.SCRAPPED
    if any(stop.halts for stop in stops):
        return UnitState.STOPPED
    reopened = max((one.seq for one in map(reopening, stops) if one is not None), default=0)
    last = next((one for one in reversed(standing) if one.body.kind in LIFE and one.seq > reopened), None)
    if last is not None:
        return LIFE[last.body.kind]
    if not any(one.body.kind not in NO_WORK for one in standing):
        return UnitState.ISSUED
    return UnitState.INSPECTION if _inspected(standing, plan) else UnitState.BUILDING


def reopening(stop: Stop) -> Entry | None:
    """The decision that sends a unit back to work, whatever it was released for before; None: it does not."""
    worked_on = stop.decision is not None and stop.decision.decision in WORKED_ON
    return stop.decided if worked_on else None


def _inspected(standing: Sequence[Entry], plan: Plan | None) -> bool:
    """Whether the work has reached the final checks."""
    slots = {one.slot for one in standing if one.slot is not None and one.body.kind not in NO_WORK}
    if any(phase_of(slot.split("/")[0].split("-")[0]) is Phase.FINAL for slot in slots):
        return True
    if plan is None:
        return False
    build = [one for one in plan.operations if phase_of(one.number) is Phase.BUILD]
    return bool(build) and all(_closed(operation, slots) for operation in build)


def _closed(operation: Operation, slots: set[str]) -> bool:
    """Whether the operation is signed; one that needs no signature: whether every slot is written."""
    if operation.sign is not None:
        return operation.sign.id in slots
    return all(slot.id in slots for slot in operation.slots() if slot.kind is not SlotKind.WORKED)
