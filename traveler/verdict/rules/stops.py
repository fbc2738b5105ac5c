"""Findings about stops and decisions, and whether a decision may be made (NON001 to NON008)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from traveler.definition.plan import SlotKind
from traveler.finding import Finding, Place, order
from traveler.record.entry import Decided, Entry
from traveler.text import did_you_mean
from traveler.verdict.authority import may_act
from traveler.verdict.case import Case, check_not_ahead, moment_text
from traveler.verdict.rules.persons import decision_action
from traveler.verdict.state import WORKED_ON, Stop, UnitState

VERIFYING = frozenset({SlotKind.READING, SlotKind.CONFIRM, SlotKind.WITNESS})
"""Kinds of slots that show whether a rework helped."""

MAKING = frozenset({"ticked", "fitted", "signed", "witnessed", "counted", "adjusted", "packed"})
"""Kinds of entries that build on; reading and looking is what a decision needs."""


def check_stops(case: Case) -> Iterator[Finding]:
    """Every stop: still open, decided without what the decision needs, or not yet verified."""
    for stop in case.stops:
        if stop.decision is None or stop.decided is None:
            what = f"stopped by {stop.entry.by}: {stop.what}"
            yield case.finding("NON001", what, slot=stop.slot, entry=stop.entry.seq, hint="decide on it")
        else:
            yield from _decided(case, stop, stop.decision, stop.decided)


def _decided(case: Case, stop: Stop, decision: Decided, entry: Entry) -> Iterator[Finding]:
    if decision.decision == "use_as_is" and not stop.concession:
        what = f"#{stop.entry.seq} is to be used as is, and no concession is named: {stop.what}"
        yield case.finding(
            "NON002", what, slot=stop.slot, entry=entry.seq, hint="decide again, with the concession's number"
        )
    elif decision.decision in WORKED_ON:
        yield from _verified(case, stop, decision, entry)
    elif decision.decision == "return_to_supplier":
        yield from _returned(case, stop, entry)
    elif decision.decision == "scrap":
        yield from _scrapped(case, stop, entry)


def _verified(case: Case, stop: Stop, decision: Decided, entry: Entry) -> Iterator[Finding]:
    """Every slot that shows whether it helped must be written after the decision."""
    named = _to_verify(case, stop, decision)
    waiting = [slot for slot in named if not written_after(case, slot, entry)]
    if not named and not _anything_verified(case, entry):
        what = f"{decision.decision} was decided, and nothing was read or confirmed since: {stop.what}"
        yield case.finding("NON003", what, entry=entry.seq, hint="measure what the rework touched")
    for slot in waiting:
        what = f"{decision.decision} was decided, and {slot} was not done again since: {stop.what}"
        yield case.finding("NON003", what, slot=slot, entry=entry.seq, hint="measure it again")


def _to_verify(case: Case, stop: Stop, decision: Decided) -> tuple[str, ...]:
    """What the decision names, and the stopped slot where it is a reading, a statement or a hold point.

    A stopped slot of another kind counts where nothing is named.
    """
    planned = case.index.slots.get(stop.slot) if stop.slot is not None else None
    shows = planned is not None and planned.slot.kind in VERIFYING
    own = (stop.slot,) if stop.slot is not None and (shows or not decision.measure_again) else ()
    return tuple(dict.fromkeys((*own, *decision.measure_again)))


def written_after(case: Case, slot: str, decided: Entry) -> bool:
    """Whether the slot, a check (by its id) or a step was written in full after the decision."""
    slots = _meant(case, slot)
    return bool(slots) and all(
        any(entry.seq > decided.seq and entry.at >= decided.at for entry in case.filled[name].entries)
        if name in case.filled else False
        for name in slots
    )  # fmt: skip


def _meant(case: Case, name: str) -> list[str]:
    """The slots a person means by a slot id, a step id or a check id."""
    if name in case.index.slots:
        return [name]
    steps = [step for step in case.plan.steps() if name in (step.id, step.check)]
    return [slot.id for step in steps for slot in step.slots if slot.kind is not SlotKind.WORKED]


def _anything_verified(case: Case, decided: Entry) -> bool:
    return any(
        filled.planned.slot.kind in VERIFYING and any(entry.seq > decided.seq for entry in filled.entries)
        for filled in case.filled.values()
    )


def _returned(case: Case, stop: Stop, entry: Entry) -> Iterator[Finding]:
    if stop.slot is not None and written_after(case, stop.slot, entry):
        return
    what = f"returned to the supplier: {stop.what}"
    yield case.finding(
        "NON007", what, slot=stop.slot, entry=entry.seq, hint="record what replaces it, or decide again"
    )


def _scrapped(case: Case, stop: Stop, entry: Entry) -> Iterator[Finding]:
    if stop.slot is not None and written_after(case, stop.slot, entry):
        return
    what = f"scrapped: {stop.what}"
    hint = "record what replaces it" if stop.slot is not None else "issue another unit"
    yield case.finding("NON005", what, slot=stop.slot, entry=entry.seq, hint=hint)


def check_worked_on(case: Case) -> Iterator[Finding]:
    """Work done between the stop of the unit and the decision on it, as far as the times given show."""
    slack = case.settings.clock_slack
    for stop in case.stops:
        if stop.slot is not None:
            continue
        began = stop.entry.at + slack
        ended = stop.decided.at - slack if stop.decided is not None else case.now
        work = [entry for entry in case.standing if entry.body.kind in MAKING and began < entry.at < ended]
        if work:
            first, count = work[0], "1 entry" if len(work) == 1 else f"{len(work)} entries"
            what = f"{count} of work while the unit was stopped (#{stop.entry.seq}): {stop.what}"
            yield case.finding("NON008", what, about=first, hint="see whether that work must be undone")


def check_decisions(case: Case) -> Iterator[Finding]:
    """Decisions that name no stop of this unit."""
    stops = {stop.entry.seq for stop in case.stops}
    for entry in case.of_kind("decided"):
        body = entry.body
        if isinstance(body, Decided) and (body.stop not in stops or body.stop >= entry.seq):
            what = f"there is no stop #{body.stop} before it"
            yield case.finding("NON004", what, about=entry, hint="name the number of the stop")


def may_decide(case: Case, body: Decided, by: str, at: datetime) -> list[Finding]:
    """Why this person may not decide so on this stop.

    Codes: GAT001 the unit is scrapped; NON004 no such stop; PER001, PER003, GAT002 the person, on the day
    given and today; SEQ005, SEQ010 dated in the future or before the stop; NON002 no concession named; ENT001
    what is to be measured again does not exist.
    """
    stop = next((stop for stop in case.stops if stop.entry.seq == body.stop), None)
    findings = [*_person(case, body, by, at), *_named(case, body, stop), *_measured(case, body)]
    if case.state is UnitState.SCRAPPED:
        what = "the unit is scrapped; nothing is decided on it any more"
        findings.append(case.finding("GAT001", what, hint="if that was a mistake, strike the decision out"))
    if body.decision == "use_as_is" and not (body.concession or "").strip():
        what = f"#{body.stop} is to be used as is, and no concession is named"
        findings.append(case.finding("NON002", what, hint="name the number of the concession"))
    findings += _time(case, stop, at) if stop is not None else ()
    return order(dict.fromkeys(findings))


def _person(case: Case, body: Decided, by: str, at: datetime) -> Iterator[Finding]:
    place = Place(unit=case.unit)
    days = (case.day(at), case.day(case.now))
    yield from may_act(decision_action(body), by, days, case.people, case.settings, place=place)


def _named(case: Case, body: Decided, stop: Stop | None) -> Iterator[Finding]:
    if stop is not None:
        return
    seqs = ", ".join(f"#{stop.entry.seq}" for stop in case.stops if stop.open)
    hint = f"open: {seqs}" if seqs else "nothing of this unit is stopped and open"
    yield case.finding("NON004", f"there is no stop #{body.stop} of this unit", hint=hint)


def _measured(case: Case, body: Decided) -> Iterator[Finding]:
    """ENT001 for each name that is neither a slot, a step nor a check of the plan."""
    if not body.measure_again:
        return
    steps = [name for step in case.plan.steps() for name in (step.id, step.check) if name is not None]
    known = dict.fromkeys((*steps, *case.index.slots))
    for name in body.measure_again:
        if name in known:
            continue
        hint = did_you_mean(name, known, "slots are listed by 'traveler validate --slots'")
        what = f"{case.plan.product} has no slot, step or check '{name}' to measure again"
        yield case.finding("ENT001", what, hint=hint)
    if body.decision not in WORKED_ON:
        what = f"nothing is measured again after '{body.decision.replace('_', ' ')}'"
        yield case.finding("ENT001", what, hint="decide on rework or repair, or name no slots")


def _time(case: Case, stop: Stop, at: datetime) -> Iterator[Finding]:
    yield from check_not_ahead(case, "decided", at)
    slack = case.settings.clock_slack
    if at < stop.entry.at - slack:
        what = f"to be decided at {moment_text(case, at)}, before #{stop.entry.seq} stopped it"
        yield case.finding("SEQ010", what, entry=stop.entry.seq, hint="give the time at which it is decided")
