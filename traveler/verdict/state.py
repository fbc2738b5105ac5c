"""The states of slots and units, and stops with their decisions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from traveler.definition.plan import Operation, Plan, SlotKind
from traveler.record.entry import Decided, Entry, Stopped, standing_entries
from traveler.verdict.plan_index import Phase, phase_of, phase_of_slot


class SlotState(StrEnum):
    """Where a slot stands."""

    OPEN = "open"
    IN = "in"
    OUT = "out"
    DOUBTFUL = "doubtful"
    DONE = "done"
    REFUSED = "refused"


NOT_ACCEPTED = frozenset({SlotState.OUT, SlotState.DOUBTFUL})
"""States of a slot whose value needs something done about it."""


class UnitState(StrEnum):
    """Where a unit is in its life."""

    ISSUED = "issued"
    BUILDING = "building"
    INSPECTION = "inspection"
    STOPPED = "stopped"
    RELEASED = "released"
    CRATED = "crated"
    IN_STOCK = "in stock"
    SHIPPED = "shipped"
    SCRAPPED = "scrapped"


UNRELEASED = (UnitState.ISSUED, UnitState.BUILDING, UnitState.INSPECTION, UnitState.STOPPED)
"""States in which a unit is still being worked on."""

WORKED_ON = frozenset({"rework", "repair"})
"""Decisions after which the unit is built and verified again."""


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop. ``decision`` is the last one that counts, None while the stop is open."""

    entry: Entry
    what: str
    decision: Decided | None = None
    decided: Entry | None = None

    @property
    def slot(self) -> str | None:
        """The slot it stops; None: the whole unit."""
        return self.entry.slot

    @property
    def open(self) -> bool:
        """Whether nobody decided on it yet."""
        return self.decision is None

    @property
    def halts(self) -> bool:
        """Whether the whole unit stands still because of it."""
        away = self.decision is not None and self.decision.decision == "return_to_supplier"
        return self.slot is None and (self.open or away)

    @property
    def concession(self) -> bool:
        """Whether the deviation was accepted in writing."""
        return self.decision is not None and self.decision.decision == "use_as_is" and bool(self.consent)

    @property
    def consent(self) -> str:
        """The number of the concession that the decision names; empty where it names none."""
        return (self.decision.concession or "").strip() if self.decision else ""

    def covers(self, slot: str, seq: int) -> bool:
        """Whether a concession accepts what stood in the slot as entry ``seq`` when it was decided."""
        return self.concession and self.slot == slot and self.decided is not None and seq < self.decided.seq


def stops_of(standing: Sequence[Entry]) -> tuple[Stop, ...]:
    """Every stop among the entries that count, in order, each with its last decision."""
    decisions = {
        entry.body.stop: (entry.body, entry) for entry in standing if isinstance(entry.body, Decided)
    }  # fmt: skip
    stops = []
    for entry in standing:
        if isinstance(entry.body, Stopped):
            decision, decided = decisions.get(entry.seq, (None, None))
            if decided is not None and decided.seq < entry.seq:
                decision, decided = None, None
            stops.append(Stop(entry, entry.body.what, decision, decided))
    return tuple(stops)


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
    standing = standing_entries(sorted(entries, key=lambda entry: entry.seq))
    return state_of(standing, stops_of(standing), plan)


def state_of(standing: Sequence[Entry], stops: Sequence[Stop], plan: Plan | None) -> UnitState:
    """The state from entries that count, in the order of their numbers, and the stops among them."""
    if any(stop.slot is None and stop.decision and stop.decision.decision == "scrap" for stop in stops):
        return UnitState.SCRAPPED
    if any(stop.halts for stop in stops):
        return UnitState.STOPPED
    reopened = max((entry.seq for entry in map(reopening, stops) if entry is not None), default=0)
    last = next(
        (entry for entry in reversed(standing) if entry.body.kind in LIFE and entry.seq > reopened), None
    )
    if last is not None:
        return LIFE[last.body.kind]
    if not any(entry.body.kind not in NO_WORK for entry in standing):
        return UnitState.ISSUED
    return UnitState.INSPECTION if _inspected(standing, plan) else UnitState.BUILDING


def reopening(stop: Stop) -> Entry | None:
    """The decision that sends a unit back to work, whatever it was released for before; None: it does not."""
    worked_on = stop.decision is not None and stop.decision.decision in WORKED_ON
    return stop.decided if worked_on else None


def _inspected(standing: Sequence[Entry], plan: Plan | None) -> bool:
    """Whether the work has reached the final checks."""
    slots = {entry.slot for entry in standing if entry.slot is not None and entry.body.kind not in NO_WORK}
    if any(phase_of_slot(slot) is Phase.FINAL for slot in slots):
        return True
    if plan is None:
        return False
    build = [operation for operation in plan.operations if phase_of(operation.number) is Phase.BUILD]
    return bool(build) and all(_closed(operation, slots) for operation in build)


def _closed(operation: Operation, slots: set[str]) -> bool:
    """Whether the operation is signed; one that needs no signature: whether every slot is written."""
    if operation.sign is not None:
        return operation.sign.id in slots
    return all(slot.id in slots for slot in operation.slots() if slot.kind is not SlotKind.WORKED)
