"""Working on a case: what was done to contain it, its cause, the action, whether that worked, the end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from traveler.finding import CannotDo, Finding, Place, blocking
from traveler.jobs.append import Proposal, append
from traveler.jobs.sign import allowed
from traveler.record.entry import FollowedUp
from traveler.record.store import Transaction
from traveler.shop.session import Session
from traveler.text import NotUnderstood, read_day
from traveler.trace.cases import CaseFile, case_state_after, cases_of, pick, refused_step, split_name
from traveler.verdict.judge import Judged
from traveler.verdict.rules.persons import follow_up_action


@dataclass(frozen=True, slots=True)
class CaseStep:
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
    session: Session, text: str, steps: Sequence[CaseStep], by: str, at: datetime | None = None
) -> FollowedUpCase:
    """Takes steps in a case, all of them or none.

    Findings: CAS003 a step out of order; CAS006 a day that is none; PER001, PER003, GAT002 who may not.

    Raises:
        CannotDo: no such case; a step without words.
    """
    if any(not step.text.strip() for step in steps):
        what = "the text of the step is empty"
        raise CannotDo(what, "write what was done, found or decided")
    serial, number = split_name(text)
    asked = dict.fromkeys(follow_up_action(step.step) for step in steps)

    def propose(before: Judged, _: Transaction) -> Proposal:
        case = pick(cases_of(before.entries), serial, number)
        refused = [
            finding for action in asked for finding in allowed(session, action, by, at=at, serial=serial)
        ]
        findings = [*_in_order(case, steps), *_days(case, steps), *dict.fromkeys(refused)]
        if blocking(findings):
            return Proposal(findings=findings)
        return Proposal([session.draft(serial, by, _body(case, step), at=at) for step in steps], findings)

    done = append(session, serial, propose)
    first = next((entry.body.case for entry in done.entries if isinstance(entry.body, FollowedUp)), number)
    return FollowedUpCase(pick(cases_of(done.judged.entries), serial, first), done.findings)


def _body(case: CaseFile, step: CaseStep) -> FollowedUp:
    return FollowedUp.model_validate(
        {
            "case": case.opened.seq, "step": step.step, "text": step.text.strip(), "causes": step.causes,
            "due": step.due and step.due.strip(),
        }
    )  # fmt: skip


def _in_order(case: CaseFile, steps: Sequence[CaseStep]) -> list[Finding]:
    state, found = case.state, []
    for step in steps:
        why = refused_step(state, step.step)
        if why is not None:
            what = f"case {case.name}: '{step.step.replace('_', ' ')}' cannot be recorded: {why}"
            hint = "a case goes: contained, cause, action, effective, close"
            found.append(Finding("CAS003", what, Place(unit=case.opened.unit), hint=hint))
        else:
            state = case_state_after(state, step.step)
    return found


def _days(case: CaseFile, steps: Sequence[CaseStep]) -> list[Finding]:
    found = []
    for step in steps:
        try:
            if step.due is not None:
                read_day(step.due)
        except NotUnderstood as problem:
            found.append(Finding("CAS006", problem.what, Place(unit=case.opened.unit), hint=problem.hint))
    return found
