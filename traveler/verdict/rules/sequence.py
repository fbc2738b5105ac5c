"""Findings about order and time (SEQ001 to SEQ010)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise

from traveler.definition.plan import Operation, SlotKind
from traveler.finding import Finding
from traveler.record.entry import Entry, done_order, recorded_late
from traveler.verdict.case import FILLED_BY, Case, fills, listed_slots, moment_text
from traveler.verdict.plan_index import Phase, PlannedSlot
from traveler.verdict.rules.parts import approval
from traveler.verdict.state import LIFE

WORK = frozenset(FILLED_BY.values()) | {"adjusted"}
"""Kinds of entries that are work on the unit."""


def check_signed_complete(case: Case) -> Iterator[Finding]:
    """Operations whose last signature is older than what fills their steps, or over open slots."""
    for operation in case.plan.operations:
        signed = case.filled.get(operation.sign.id) if operation.sign is not None else None
        if signed is None or operation.sign is None:
            continue
        lacking = _lacking(case, operation, signed.last.at)
        if lacking:
            what = (
                f"operation {operation.number} was signed by {signed.last.by} while "
                f"{listed_slots(lacking)} was open"
            )
            hint = "complete it and sign again" if len(lacking) == 1 else "complete them and sign again"
            yield case.finding("SEQ001", what, slot=operation.sign.id, entry=signed.last.seq, hint=hint)


def _lacking(case: Case, operation: Operation, at: datetime) -> list[str]:
    """The slots of the operation's steps that nothing filled by that time."""
    slots = (slot for step in operation.steps for slot in step.slots if slot.kind is not SlotKind.WORKED)
    return [
        slot.id for slot in slots
        if (filled := case.filled.get(slot.id)) is None or filled.entries[0].at > at
    ]  # fmt: skip


def check_operation_order(case: Case) -> Iterator[Finding]:
    """Operations signed before one that comes earlier in the plan."""
    unsigned: list[str] = []
    latest: tuple[datetime, str] | None = None
    for operation in case.plan.operations:
        if operation.sign is None:
            continue
        signed = case.filled.get(operation.sign.id)
        if signed is None:
            unsigned.append(operation.number)
            continue
        first = signed.entries[0]
        if unsigned:
            text = f"operation {operation.number} is signed, operation {', '.join(unsigned)} before it is not"
            yield case.finding(
                "SEQ002", text, slot=operation.sign.id, entry=first.seq, hint="sign in the order of the plan"
            )
        elif latest is not None and first.at < latest[0]:
            text = f"operation {operation.number} was signed before operation {latest[1]}"
            yield case.finding(
                "SEQ002", text, slot=operation.sign.id, entry=first.seq, hint="sign in the order of the plan"
            )
        if latest is None or first.at > latest[0]:
            latest = (first.at, operation.number)


def check_hold_points(case: Case) -> Iterator[Finding]:
    """Work that went past a hold point before it was witnessed."""
    if not case.index.holds:
        return
    work = [(filled.planned.rank, filled.entries[0]) for filled in case.filled.values()]
    for hold in case.index.holds:
        yield from _past(case, hold, work)


def _past(case: Case, hold: PlannedSlot, work: list[tuple[int, Entry]]) -> Iterator[Finding]:
    witnessed = case.filled.get(hold.slot.id)
    opened = witnessed.entries[0].at if witnessed is not None else None
    own = own_run(hold)
    past = [
        entry for rank, entry in work
        if rank > hold.rank and (opened is None or entry.at < opened) and entry.slot not in own
    ]  # fmt: skip
    if not past:
        return
    first = min(past, key=done_order)
    state = "is not witnessed" if opened is None else "was witnessed later"
    more = f" and {len(past) - 1} more" if len(past) > 1 else ""
    what = f"the hold point '{hold.slot.label}' {state}, but {first.slot} (#{first.seq}){more} lies past it"
    seq = witnessed.last.seq if witnessed is not None else None
    yield case.finding(
        "SEQ003",
        what,
        slot=hold.slot.id,
        entry=seq,
        hint="stop, and have it witnessed; then do that work again",
    )


def own_run(hold: PlannedSlot) -> frozenset[str]:
    """The run that a hold point opens by approving its first piece; LOT002 reports it."""
    if hold.step is None or approval(hold.operation) is not hold.step:
        return frozenset()
    after = hold.operation.steps[hold.operation.steps.index(hold.step) + 1 :]
    return frozenset(slot.id for step in after for slot in step.slots)


def check_dates(case: Case) -> Iterator[Finding]:
    """Entries dated before the unit's issue or in the future."""
    issue = next(iter(case.of_kind("issued")), None)
    slack = case.settings.clock_slack
    for entry in case.standing:
        if entry.at > min(case.now, entry.recorded) + slack:
            what = f"dated {moment_text(case, entry.at)}, recorded {moment_text(case, entry.recorded)}"
            yield case.finding("SEQ005", what, about=entry, hint="strike it, and record the real time")
        if issue is not None and entry.at < issue.at - slack:
            what = f"dated {moment_text(case, entry.at)}, the unit was issued {moment_text(case, issue.at)}"
            yield case.finding("SEQ004", what, about=entry, hint="strike it, and record the real time")


def check_time_order(case: Case) -> Iterator[Finding]:
    """Slots whose entries were recorded in another order than they are dated."""
    for slot, filled in case.filled.items():
        if len(filled.entries) < 2:
            continue
        seqs = [entry.seq for entry in filled.entries]
        late = next((after for before, after in pairwise(seqs) if after < before), None)
        if late is not None:
            what = f"#{max(seqs)} is recorded after #{late} and dated before it"
            yield case.finding(
                "SEQ006", what, slot=slot, entry=max(seqs), hint="see whether a time was mistyped"
            )


def check_late(case: Case) -> Iterator[Finding]:
    """One finding for everything recorded long after it was done."""
    late = [
        entry for entry in case.standing if recorded_late(entry, case.settings.late_after_hours) is not None
    ]
    if late:
        hours = case.settings.late_after_hours
        count = f"{_many(len(late))} {'was' if len(late) == 1 else 'were'}"
        what = f"{count} recorded more than {hours} h after the work, the first is #{late[0].seq}"
        yield case.finding("SEQ007", what, slot=late[0].slot, entry=late[0].seq)


def check_around_release(case: Case) -> Iterator[Finding]:
    """Packing before the release, and building or inspecting after it."""
    release = case.released
    early = [entry for entry in _written(case, Phase.CRATING) if release is None or entry.at < release.at]
    if early:
        when = (
            f"it was released at {moment_text(case, release.at)}" if release else "the unit is not released"
        )
        what = f"{_many(len(early))} of the crating, {when}"
        hint = "release first, then pack"
        yield case.finding("SEQ008", what, slot=early[0].slot, entry=early[0].seq, hint=hint)
    if release is None or case.state not in LIFE.values():
        return
    after = [entry for entry in _written(case, Phase.BUILD, Phase.FINAL) if entry.seq > release.seq]
    if after:
        what = f"{_many(len(after))} written after the release (#{release.seq})"
        hint = "take the release back, and release again with a new certificate"
        yield case.finding("SEQ009", what, slot=after[0].slot, entry=after[0].seq, hint=hint)


def _written(case: Case, *phases: Phase) -> list[Entry]:
    """The entries that fill a slot of these phases, and adjustments there, by their numbers."""
    planned_slots = case.index.slots
    return [
        entry
        for entry in case.standing
        if entry.slot is not None
        and (planned := planned_slots.get(entry.slot)) is not None
        and planned.phase in phases
        and (fills(planned.slot, entry) or entry.body.kind == "adjusted")
    ]


def _many(count: int) -> str:
    return "1 entry" if count == 1 else f"{count} entries"


def check_life(case: Case) -> Iterator[Finding]:
    """Crating, stock and shipment that did not follow the release."""
    first = next((entry.seq for entry in case.of_kind("released")), None)
    for entry in (entry for kind in LIFE for entry in case.of_kind(kind)):
        if first is None or entry.seq < first:
            what = f"{entry.body.kind} without a release before it"
            hint = "strike it, release, then do it again"
            yield case.finding("SEQ010", what, about=entry, hint=hint)
