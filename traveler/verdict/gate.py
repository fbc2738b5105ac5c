"""The gate: why a unit may not be released, crated, placed or shipped. An empty list means that it may.

The gate asks in this order: is the unit in the state for it, may the person do it, does anything blocking
stand, is anything open that must not be. It lists everything at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime

from traveler.finding import Finding, Place, Weight, order
from traveler.verdict.authority import may_act, roles_for, standing_in
from traveler.verdict.case import Case, check_not_ahead
from traveler.verdict.judge import Verdict, judge_case
from traveler.verdict.plan_index import Phase
from traveler.verdict.rules.missing import OpenStep, closing_code, describe, open_steps
from traveler.verdict.rules.packing import wood_mark_missing
from traveler.verdict.rules.sequence import WORK
from traveler.verdict.state import LIFE, UnitState

CLOSED = WORK | frozenset(LIFE) | {"stopped", "decided"}
"""Kinds of entries that a step of life comes after."""

BEFORE: dict[str, tuple[UnitState, ...]] = {
    "release": (UnitState.BUILDING, UnitState.INSPECTION),
    "crate": (UnitState.RELEASED,),
    "place": (UnitState.CRATED, UnitState.IN_STOCK),
    "ship": (UnitState.CRATED, UnitState.IN_STOCK),
}
"""Action → the states in which it may be done. What is not crated (a plan without crating) is placed and
shipped from ``released``."""

PAST: dict[str, tuple[UnitState, ...]] = {
    "release": (UnitState.RELEASED, UnitState.CRATED, UnitState.IN_STOCK, UnitState.SHIPPED),
    "crate": (UnitState.CRATED, UnitState.IN_STOCK, UnitState.SHIPPED),
    "place": (UnitState.SHIPPED,),
    "ship": (UnitState.SHIPPED,),
}
"""Action → the states that say it was done already."""


def may_release(case: Case, by: str, at: datetime, verdict: Verdict | None = None) -> list[Finding]:
    """Why this person may not release the unit now.

    Everything of the build and the final checks must be there and acceptable; the person holds the right to
    release and signed no build operation of this unit. What concerns the crating does not hold a release up.
    """
    return _gate("release", case, by, at, verdict, (Phase.BUILD, Phase.FINAL))


def may_crate(case: Case, by: str, at: datetime, verdict: Verdict | None = None) -> list[Finding]:
    """Why this person may not close the crate now: not released, something of the crating open or wrong."""
    return _gate("crate", case, by, at, verdict, tuple(Phase))


def may_place(case: Case, by: str, at: datetime, verdict: Verdict | None = None) -> list[Finding]:
    """Why this person may not put the unit in stock now."""
    return _gate("place", case, by, at, verdict, tuple(Phase))


def may_ship(case: Case, by: str, at: datetime, verdict: Verdict | None = None) -> list[Finding]:
    """Why this person may not ship the unit now."""
    return _gate("ship", case, by, at, verdict, tuple(Phase))


GATES: dict[str, Callable[[Case, str, datetime, Verdict | None], list[Finding]]] = {
    "release": may_release,
    "crate": may_crate,
    "place": may_place,
    "ship": may_ship,
}
"""Action → its gate."""


def _gate(
    action: str, case: Case, by: str, at: datetime, verdict: Verdict | None, phases: Sequence[Phase]
) -> list[Finding]:
    judged = verdict if verdict is not None else judge_case(case)
    findings = [*_state(action, case), *_person(action, case, by, at), *_time(action, case, at)]
    findings += _standing(case, judged.findings, phases)
    findings += _open(case, judged, phases)
    if Phase.CRATING in phases:
        findings += wood_mark_missing(case)
    return order(dict.fromkeys(findings))


def _state(action: str, case: Case) -> Iterator[Finding]:
    allowed = BEFORE[action]
    if action in ("place", "ship") and not case.plan.has_crating:
        allowed = (UnitState.RELEASED, *allowed)
    if case.state in allowed:
        return
    if case.state in PAST[action]:
        yield case.finding("GAT004", f"already {_done(action)}: state is '{case.state}'")
    else:
        states = " or ".join(f"'{unit_state}'" for unit_state in allowed)
        what = f"not {_done(action)}: state is '{case.state}', it must be {states}"
        yield case.finding("GAT001", what, hint=_way(case.state))


def _done(action: str) -> str:
    return {"release": "released", "crate": "crated", "place": "placed", "ship": "shipped"}[action]


def _way(state: UnitState) -> str:
    return {
        UnitState.ISSUED: "build it first",
        UnitState.STOPPED: "decide on what stopped it",
        UnitState.SCRAPPED: "issue another unit",
        UnitState.RELEASED: "crate it first",
    }.get(state, "release it first")


def _person(action: str, case: Case, by: str, at: datetime) -> Iterator[Finding]:
    place = Place(unit=case.unit)
    days = (case.day(at), case.day(case.now))
    yield from may_act(action, by, days, case.people, case.settings, place=place)
    if action != "release":
        return
    person = case.people.get(by)
    roles = roles_for(action, case.settings)
    absent = standing_in(person, roles, case.day(at)) if person is not None else None
    if by in case.builders or absent in case.builders:
        who = by if by in case.builders else f"{absent}, for whom {by} stands in,"
        what = f"{who} signed a build operation of this unit"
        yield case.finding("PER005", what, hint="somebody who did not build it releases it")


def _time(action: str, case: Case, at: datetime) -> Iterator[Finding]:
    """A step of life is dated neither in the future nor before the work that it closes."""
    yield from check_not_ahead(case, _done(action), at)
    slack = case.settings.clock_slack
    later = [entry for entry in case.standing if entry.at > at + slack and entry.body.kind in CLOSED]
    if later:
        last = max(later, key=lambda item: item.at)
        what = f"to be {_done(action)} before #{last.seq} ({last.body.kind}) was done"
        yield case.finding("SEQ010", what, entry=last.seq, hint="give the time at which it is done")


def _standing(case: Case, findings: Iterable[Finding], phases: Sequence[Phase]) -> Iterator[Finding]:
    """What blocks, apart from what concerns a later part of the work."""
    for finding in findings:
        phase = case.index.phase(finding.place.slot)
        if finding.weight is Weight.BLOCKING and (phase is None or phase in phases):
            yield finding


def _open(case: Case, judged: Verdict, phases: Sequence[Phase]) -> Iterator[Finding]:
    """What is open or not accepted; whatever its weight as a finding, the gate does not let it pass."""
    reported = {finding.place.slot for finding in judged.findings if finding.weight is Weight.BLOCKING}
    for step in open_steps(case):
        if step.phase in phases and step.slots[0] not in reported:
            yield _still_open(case, step)


def _still_open(case: Case, open_step: OpenStep) -> Finding:
    """Whatever weight the shop gives to missing slots: at the gate they block."""
    what = f"open: {describe(open_step)}"
    found = case.finding(
        closing_code(case, open_step), what, slot=open_step.slots[0], hint="do it and record it"
    )
    return replace(found, weight=Weight.BLOCKING)
