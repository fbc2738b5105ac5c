"""A plan with its look-ups: slots with their place in the work, limits that were read once."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from traveler.definition.fields import CRATING, FINAL
from traveler.definition.plan import Operation, Plan, Slot, SlotKind, Step
from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import Unreadable


class Phase(StrEnum):
    """The part of the work an operation belongs to."""

    BUILD = "build"
    FINAL = "final"
    CRATING = "crating"


PHASES = {FINAL: Phase.FINAL, CRATING: Phase.CRATING}
"""Operation number → phase; every other operation builds."""


def phase_of(operation: str) -> Phase:
    """The phase of an operation by its number."""
    return PHASES.get(operation, Phase.BUILD)


def phase_of_slot(slot: str | None) -> Phase:
    """The phase of a slot by its id alone, where the plan is not at hand: ``Q-2/side=left``, ``10/sign``."""
    return phase_of((slot or "").split("/")[0].split("-")[0])


@dataclass(frozen=True, slots=True)
class PlannedSlot:
    """A slot where it stands in the plan. ``rank`` counts all slots in the order of the work."""

    slot: Slot
    rank: int
    phase: Phase
    operation: Operation
    step: Step | None
    role: str | None
    """The role that this slot asks for; None: any role that may do the work of the phase."""


class PlanIndex:
    """A plan with its look-ups: ``slots`` by id, parsed ``limits`` by step id (None: not readable)."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.slots: dict[str, PlannedSlot] = {}
        for operation in plan.operations:
            phase = phase_of(operation.number)
            for step in operation.steps:
                for slot in step.slots:
                    self._add(slot, phase, operation, step)
            if operation.sign is not None:
                self._add(operation.sign, phase, operation, None)
        self.steps: dict[str, Step] = {step.id: step for step in plan.steps()}
        self.limits: dict[str, Limits | None] = {}
        self.unreadable: dict[str, Unreadable] = {}
        for step in self.steps.values():
            if step.limits is not None:
                self._read_limits(step, step.limits.text)
        self.holds = self._of_kind(SlotKind.WITNESS)
        self.worked = self._of_kind(SlotKind.WORKED)

    def _of_kind(self, kind: SlotKind) -> tuple[PlannedSlot, ...]:
        return tuple(planned for planned in self.slots.values() if planned.slot.kind is kind)

    def _add(self, slot: Slot, phase: Phase, operation: Operation, step: Step | None) -> None:
        role = slot.role or (step.role if step is not None and slot.kind is SlotKind.WITNESS else None)
        self.slots[slot.id] = PlannedSlot(slot, len(self.slots), phase, operation, step, role)

    def _read_limits(self, step: Step, text: str) -> None:
        try:
            self.limits[step.id] = parse_limits(text)
        except Unreadable as problem:
            self.limits[step.id] = None
            self.unreadable[step.id] = problem

    def phase(self, slot: str | None) -> Phase | None:
        """The phase of a slot of the plan; None for other slots."""
        planned = self.slots.get(slot) if slot is not None else None
        return planned.phase if planned is not None else None


class _Same:
    """A plan compared by identity: hashing all of it would take longer than judging by it."""

    __slots__ = ("plan",)

    def __init__(self, plan: Plan) -> None:
        self.plan = plan

    def __hash__(self) -> int:
        return id(self.plan)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.plan is self.plan


@lru_cache(maxsize=64)
def _plan_index(same: _Same) -> PlanIndex:
    return PlanIndex(same.plan)


def plan_index(plan: Plan) -> PlanIndex:
    """The look-ups of this plan; kept for the plans used last (plans are immutable)."""
    return _plan_index(_Same(plan))
