"""Why a stop may not be decided on so; an empty list means that it may."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from difflib import get_close_matches

from traveler.finding import Finding, Place, order
from traveler.record.entry import Decided
from traveler.verdict.authority import may_act
from traveler.verdict.case import Case
from traveler.verdict.outcome import UnitState
from traveler.verdict.stops import WORKED_ON, Stop


def deciding(body: Decided) -> str:
    """The action that the decision is: using as is gives something away, the others do not."""
    return "concede" if body.decision == "use_as_is" else "decide"


def may_decide(case: Case, body: Decided, by: str, at: datetime) -> list[Finding]:
    """Why this person may not decide so on this stop.

    Codes: GAT001 the unit is scrapped; NON004 no such stop; PER001, PER003, GAT002 the person, on the day
    told and today; SEQ005, SEQ010 dated in the future or before the stop; NON002 no concession named; ENT001
    what is to be measured again does not exist.
    """
    stop = next((one for one in case.stops if one.entry.seq == body.stop), None)
    findings = [*_person(case, body, by, at), *_named(case, body, stop), *_measured(case, body)]
    if case.state is UnitState.SCRAPPED:
        what = "the unit is scrapped; nothing is decided on it any more"
        findings.append(case.say("GAT001", what, hint="if that was a mistake, strike the decision out"))
    if body.decision == "use_as_is" and not (body.concession or "").strip():
        what = f"#{body.stop} is to be used as is, and no concession is named"
        findings.append(case.say("NON002", what, hint="name the number of the concession"))
    findings += _time(case, stop, at) if stop is not None else ()
    return order(dict.fromkeys(findings))


def _person(case: Case, body: Decided, by: str, at: datetime) -> Iterator[Finding]:
    place = Place(unit=case.unit)
    for day in dict.fromkeys((case.day(at), case.day(case.now))):
        yield from may_act(deciding(body), by, day, case.people, case.settings, place=place)


def _named(case: Case, body: Decided, stop: Stop | None) -> Iterator[Finding]:
    if stop is not None:
        return
    seqs = ", ".join(f"#{one.entry.seq}" for one in case.stops if one.open)
    hint = f"open: {seqs}" if seqs else "nothing of this unit is stopped and open"
    yield case.say("NON004", f"there is no stop #{body.stop} of this unit", hint=hint)


def _measured(case: Case, body: Decided) -> Iterator[Finding]:
    """ENT001 for each name that is neither a slot, a step nor a check of the plan."""
    if not body.measure_again:
        return
    steps = [name for step in case.plan.steps() for name in (step.id, step.check) if name is not None]
    known = dict.fromkeys((*steps, *case.planned.spots))
    for name in body.measure_again:
        if name in known:
            continue
        close = get_close_matches(name[:80], known, n=1)
        hint = f"did you mean {close[0]}?" if close else "slots are listed by 'traveler validate --slots'"
        what = f"{case.plan.product} has no slot, step or check '{name}' to measure again"
        yield case.say("ENT001", what, hint=hint)
    if body.decision not in WORKED_ON:
        what = f"nothing is measured again after '{body.decision.replace('_', ' ')}'"
        yield case.say("ENT001", what, hint="decide on rework or repair, or name no slots")


def _time(case: Case, stop: Stop, at: datetime) -> Iterator[Finding]:
    slack = timedelta(minutes=case.settings.clock_minutes)
    if at > case.now + slack:
        what = f"to be decided at {at:%Y-%m-%d %H:%M}, and now it is {case.now:%Y-%m-%d %H:%M} UTC"
        yield case.say("SEQ005", what, hint="give the time at which it is decided")
    if at < stop.entry.at - slack:
        what = f"to be decided at {at:%Y-%m-%d %H:%M}, before #{stop.entry.seq} stopped it"
        yield case.say("SEQ010", what, entry=stop.entry.seq, hint="give the time at which it is decided")
