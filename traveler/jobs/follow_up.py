"""Working on a case: what was done to contain it, its cause, the action, whether that worked, the end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from traveler.finding import Finding, Place, blocking
from traveler.jobs.add_entry import against
from traveler.jobs.cannot import CannotDo
from traveler.jobs.find_case import pick, split_name
from traveler.jobs.judge import judge
from traveler.jobs.office import Office
from traveler.jobs.signing import unsigned
from traveler.jobs.write import write
from traveler.record.entry import FollowedUp
from traveler.trace.cases import CaseFile, cases_of, refused_step, state_after
from traveler.verdict.authority import may_act

CLOSING = frozenset({"closed", "unfounded"})


@dataclass(frozen=True, slots=True)
class Step:
    """One step to take: its word (``contained``, ``cause`` …), what is said, and what goes with it."""

    step: str
    text: str
    causes: tuple[str, ...] = ()
    due: str | None = None


@dataclass(frozen=True, slots=True)
class FollowedUpCase:
    """The case as it is now, and why a step was not taken."""

    case: CaseFile
    findings: tuple[Finding, ...] = ()


def follow_up(
    office: Office, text: str, steps: Sequence[Step], by: str, at: datetime | None = None
) -> FollowedUpCase:
    """Takes steps in a case, all of them or none.

    Findings: CAS003 a step out of order; CAS006 a day that is none; PER001, PER003, GAT002 who may not.

    Raises:
        CannotDo: no such case; a step without words.
    """
    if any(not step.text.strip() for step in steps):
        what = "a step without words"
        raise CannotDo(what, "say what was done, found or decided")
    serial, number = split_name(text)
    with office.store.transaction() as work:
        before = judge(office, work, serial)
        case = pick(cases_of(before.entries), serial, number)
        findings = [*_in_order(case, steps), *_days(case, steps), *_may(office, case, steps, by, at)]
        if not blocking(findings):
            drafts = [office.draft(serial, by, _body(case, step), at=at) for step in steps]
            entries = write(office, work, drafts, before.entries, before.plan)
            after = judge(office, work, serial)
            findings += against(after, entries[len(before.entries) :])
            if not blocking(findings):
                return FollowedUpCase(pick(cases_of(after.entries), serial, case.opened.seq), tuple(findings))
        work.abandon()
    return FollowedUpCase(case, tuple(findings))


def _body(case: CaseFile, step: Step) -> FollowedUp:
    return FollowedUp.model_validate(
        {
            "case": case.opened.seq, "step": step.step, "text": step.text.strip(), "causes": step.causes,
            "due": step.due,
        }
    )  # fmt: skip


def _in_order(case: CaseFile, steps: Sequence[Step]) -> list[Finding]:
    state, found = case.state, []
    for step in steps:
        why = refused_step(state, step.step)
        if why is not None:
            what = f"case {case.name}: '{step.step.replace('_', ' ')}' cannot be recorded: {why}"
            hint = "a case goes: contained, cause, action, effective, close"
            found.append(Finding("CAS003", what, Place(unit=case.opened.unit), hint=hint))
        else:
            state = state_after(state, step.step)
    return found


def _days(case: CaseFile, steps: Sequence[Step]) -> list[Finding]:
    found = []
    for step in steps:
        try:
            ok = step.due is None or (len(step.due) == 10 and date.fromisoformat(step.due) is not None)
        except ValueError:
            ok = False
        if not ok:
            what = f"'{step.due}' is not a day"
            found.append(Finding("CAS006", what, Place(unit=case.opened.unit), hint="write it as 2026-12-15"))
    return found


def _may(
    office: Office, case: CaseFile, steps: Sequence[Step], by: str, at: datetime | None
) -> list[Finding]:
    shop, day = office.shop, office.day(at or office.now)
    actions = dict.fromkeys("close_case" if one.step in CLOSING else "follow_up" for one in steps)
    place = Place(unit=case.opened.unit)
    told: list[Finding] = []
    for action in actions:
        told += may_act(action, by, day, shop.people, shop.settings, place=place)
        told += unsigned(office, action, by, place)
    return list(dict.fromkeys(told))
