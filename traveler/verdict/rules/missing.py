"""What is not there: open slots, by step while the work is near them, by operation while it is far.

An open slot ahead of the work is a note. It becomes blocking when later work was closed over it: its own
or a later operation is signed, or the unit was released (for crating: crated).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from traveler.definition.plan import Operation, SlotKind, Step, StepKind
from traveler.finding import Finding
from traveler.verdict.case import Case, listed_slots
from traveler.verdict.plan_index import Phase, phase_of
from traveler.verdict.rules.packing import missing_code

_TEXT = 80
"""So many characters of a step's text are shown."""


@dataclass(frozen=True, slots=True)
class OpenStep:
    """The slots of one step that nothing acceptable fills. ``step`` None: the operation's signature."""

    operation: Operation
    step: Step | None
    slots: tuple[str, ...]

    @property
    def phase(self) -> Phase:
        """The part of the work it belongs to."""
        return phase_of(self.operation.number)


def open_steps(case: Case) -> list[OpenStep]:
    """Every step with open slots, in the order of the work."""
    found = []
    for operation in case.plan.operations:
        for step in operation.steps:
            slots = tuple(
                slot.id
                for slot in step.slots
                if slot.kind is not SlotKind.WORKED and slot.id not in case.filled
            )
            if slots:
                found.append(OpenStep(operation, step, slots))
        sign = operation.sign
        if sign is not None and sign.id not in case.filled:
            found.append(OpenStep(operation, None, (sign.id,)))
    return found


def check_missing(case: Case, opened: Sequence[OpenStep]) -> Iterator[Finding]:
    """One finding per step with open slots, one per operation that was not begun."""
    closed = closed_through(case)
    ranks = {operation.number: rank for rank, operation in enumerate(case.plan.operations)}
    by_operation: dict[str, list[OpenStep]] = {}
    for open_step in opened:
        by_operation.setdefault(open_step.operation.number, []).append(open_step)
    for number, steps in by_operation.items():
        if ranks[number] <= closed or _passed(case, phase_of(number)):
            yield from (skipped(case, step) for step in steps)
        elif _begun(case, steps[0].operation):
            yield from (_ahead(case, step) for step in steps)
        else:
            yield _not_begun(case, steps)


def closed_through(case: Case) -> int:
    """The rank of the last operation that is signed, -1 if none is."""
    operations = enumerate(case.plan.operations)
    return max(
        (
            rank
            for rank, operation in operations
            if operation.sign is not None and operation.sign.id in case.filled
        ),
        default=-1,
    )


def _passed(case: Case, phase: Phase) -> bool:
    """Whether the unit went past this part of the work."""
    if phase is Phase.CRATING:
        return bool(case.of_kind("crated"))
    return bool(case.of_kind("released"))


def _begun(case: Case, operation: Operation) -> bool:
    return any(slot.id in case.filled for slot in operation.slots())


def skipped(case: Case, open_step: OpenStep) -> Finding:
    """The finding for open slots that later work was closed over."""
    code = closing_code(case, open_step)
    return case.finding(
        code, f"open: {describe(open_step)}", slot=open_step.slots[0], hint="do it and record it"
    )


def closing_code(case: Case, open_step: OpenStep) -> str:
    """The code of open slots that hold up what comes next: traced parts and packing have their own."""
    if open_step.step is None:
        return "MIS002"
    if open_step.step.kind is StepKind.FIT:
        return "PAR001"
    return missing_code(case.plan, open_step.step) or "MIS002"


def _ahead(case: Case, open_step: OpenStep) -> Finding:
    code = "MIS004" if open_step.step is None else "MIS001"
    return case.finding(code, f"open: {describe(open_step)}", slot=open_step.slots[0])


def _not_begun(case: Case, steps: Sequence[OpenStep]) -> Finding:
    operation = steps[0].operation
    count = sum(len(step.slots) for step in steps)
    what = (
        f"operation {operation.number} {operation.title} is not begun: {count} slot{'s' * (count != 1)} open"
    )
    return case.finding("MIS003", what, slot=steps[0].slots[0])


def describe(open_step: OpenStep) -> str:
    """A step and its open slots in one line."""
    if open_step.step is None:
        return f"signature of operation {open_step.operation.number} {open_step.operation.title}"
    text = open_step.step.text if len(open_step.step.text) <= _TEXT else f"{open_step.step.text[:_TEXT]}…"
    return f"{listed_slots(open_step.slots, total=len(open_step.step.slots))} {text}"
