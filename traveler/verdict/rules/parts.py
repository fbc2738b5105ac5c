"""Findings about traced parts and about lots (PAR002 to PAR007, LOT001 to LOT004)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime

from traveler.definition.plan import Operation, SlotKind, Step
from traveler.finding import Finding
from traveler.record.entry import Counted, Entry, Fitted, Issued, done_order
from traveler.verdict.case import Case
from traveler.verdict.rows import ReadingRow
from traveler.verdict.state import NOT_ACCEPTED


def check_quantities(case: Case) -> Iterator[Finding]:
    """Good, rework and scrap of each counted operation against what came into it."""
    if case.plan.track != "lot":
        return
    counts = list(counts_by_operation(case))
    if not counts:
        return
    coming = quantity(case)
    if coming is None:
        yield case.finding(
            "LOT004", "pieces are counted, but the issue names no quantity", entry=counts[0][1].seq
        )
        return
    before = "issued"
    for operation, entry, body in counts:
        found = body.good + body.rework + body.scrap
        if found != coming:
            what = (
                f"operation {operation.number}: {body.good} good, {body.rework} rework, {body.scrap} scrap "
                f"are {found}; {coming} came from {before}"
            )
            yield case.finding("LOT001", what, about=entry, hint="count again, and correct the wrong one")
        coming, before = body.good + body.rework, f"operation {operation.number}"
    operation, entry, body = counts[-1]
    if body.rework:
        what = f"operation {operation.number} left {body.rework} in rework"
        yield case.finding("LOT003", what, about=entry, hint="count again when they are good or scrap")


def quantity(case: Case) -> int | None:
    """The number of pieces the lot was issued with; None if it does not say."""
    bodies = (entry.body for entry in case.of_kind("issued"))
    return next((body.quantity for body in bodies if isinstance(body, Issued)), None)


def counts_by_operation(case: Case) -> Iterator[tuple[Operation, Entry, Counted]]:
    """The last count of each operation, in the order of the work."""
    for operation in case.plan.operations:
        slots = [slot.id for slot in operation.slots() if slot.kind is SlotKind.COUNT]
        for slot in slots[-1:]:
            filled = case.filled.get(slot)
            if filled is not None and isinstance(filled.last.body, Counted):
                yield operation, filled.last, filled.last.body


def check_first_piece(case: Case, rows: Mapping[str, ReadingRow]) -> Iterator[Finding]:
    """Runs that were begun before their first piece was measured, in, and approved."""
    for operation in case.plan.operations:
        first = [step for step in operation.steps if step.first_piece]
        if not first:
            continue
        begun = _run_begun(case, operation, first)
        if begun is None:
            continue
        lacking = [*_not_approved(case, operation, first, begun.at), *_not_in(first, rows)]
        if lacking:
            run = f"the run of operation {operation.number} began with {begun.slot} (#{begun.seq})"
            what = f"{run}: {lacking[0]}"
            hint = "stop the run, measure and approve a first piece"
            yield case.finding("LOT002", what, about=begun, hint=hint)


def approval(operation: Operation) -> Step | None:
    """The hold point that approves the first piece: the first one after its checks."""
    seen = False
    for step in operation.steps:
        seen = seen or step.first_piece
        if seen and any(slot.kind is SlotKind.WITNESS for slot in step.slots):
            return step
    return None


def _run_begun(case: Case, operation: Operation, first: list[Step]) -> Entry | None:
    """The first entry of the run: whatever comes after the first piece's checks and their approval."""
    last = approval(operation) or first[-1]
    after = operation.steps[operation.steps.index(last) + 1 :]
    slots = [slot.id for step in after for slot in step.slots]
    entries = [case.filled[slot].entries[0] for slot in slots if slot in case.filled]
    return min(entries, key=done_order, default=None)


def _not_approved(case: Case, operation: Operation, first: list[Step], begun: datetime) -> Iterator[str]:
    hold = approval(operation)
    for step in [*first, *([hold] if hold is not None else [])]:
        for slot in step.slots:
            filled = case.filled.get(slot.id)
            word = "is not" if filled is None else "was only later"
            done = "approved" if step is hold else "measured"
            if slot.kind is not SlotKind.WORKED and (filled is None or filled.entries[0].at > begun):
                yield f"the first piece {word} {done} ({slot.id})"


def _not_in(first: list[Step], rows: Mapping[str, ReadingRow]) -> Iterator[str]:
    for step in first:
        for slot in step.slots:
            row = rows.get(slot.id)
            if row is not None and row.state in NOT_ACCEPTED:
                yield f"the first piece is {row.state} at {slot.id}"


def check_parts(case: Case) -> Iterator[Finding]:
    """Each slot's last fitted part: the right part, traced the right way, usable, and nowhere else."""
    seen: dict[tuple[str | None, str], str] = {}
    for slot, filled in case.filled_of(SlotKind.PART):
        entry, step = filled.last, filled.planned.step
        body = entry.body
        if not isinstance(body, Fitted) or step is None:
            continue
        yield from _right_part(case, slot, entry, body, step)
        if body.trace == "serial":
            yield from _once(case, slot, entry, body, seen)
        else:
            yield from _lot(case, slot, entry, body)


def _right_part(case: Case, slot: str, entry: Entry, body: Fitted, step: Step) -> Iterator[Finding]:
    if step.trace is not None and body.trace != step.trace:
        what = f"{body.trace} {body.value} is recorded, the part is traced by {step.trace}"
        yield case.finding("PAR006", what, slot=slot, entry=entry.seq, hint=f"record the {step.trace}")
    if body.number is not None and step.part_number is not None and body.number != step.part_number:
        what = f"part {body.number} is fitted, the plan asks for {step.part_number}"
        yield case.finding(
            "PAR007", what, slot=slot, entry=entry.seq, hint="fit the right part, or stop the unit"
        )


def _once(
    case: Case, slot: str, entry: Entry, body: Fitted, seen: dict[tuple[str | None, str], str]
) -> Iterator[Finding]:
    key = (case.plan.part_number(slot, body.number), body.value)
    elsewhere = case.facts.fitted_elsewhere
    other = elsewhere.get(key) or elsewhere.get((None, body.value))
    if other is not None and other != case.unit:
        what = f"serial {body.value} of {key[0] or 'the part'} is already fitted in {other}"
        yield case.finding(
            "PAR002", what, slot=slot, entry=entry.seq, hint="read the serial again; one of the two is wrong"
        )
    if key in seen:
        what = f"serial {body.value} is fitted here and at {seen[key]}"
        yield case.finding("PAR005", what, slot=slot, entry=entry.seq, hint="read both serials again")
    seen.setdefault(key, slot)


def _lot(case: Case, slot: str, entry: Entry, body: Fitted) -> Iterator[Finding]:
    if case.facts.lots is None:
        return
    lot = case.facts.lots.get(body.value)
    if lot is None:
        what = f"the shop knows no lot {body.value}"
        yield case.finding(
            "PAR004", what, slot=slot, entry=entry.seq, hint="read the lot number again, or book the lot in"
        )
    elif lot.standing != "usable":
        what = f"lot {body.value} is {lot.standing}"
        yield case.finding(
            "PAR003", what, slot=slot, entry=entry.seq, hint="take the part out, or have the lot decided on"
        )
