"""An adjustment: what the tool advises, and what was done, whether the advice was followed or not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from traveler.definition.plan import Plan, Step
from traveler.finding import CannotDo
from traveler.jobs.append import Appended, Proposal, append
from traveler.record.entry import Adjusted
from traveler.record.store import Transaction
from traveler.shop.session import Session
from traveler.text import did_you_mean
from traveler.verdict.advice import CheckAdvice, adjusting, advice_on
from traveler.verdict.judge import Judged


@dataclass(frozen=True, slots=True)
class Done:
    """What was done: in words, how far (``1/4 turn clockwise``), and whether as advised."""

    text: str
    by: str
    amount: str | None = None
    followed: bool | None = None
    at: datetime | None = None


def advice_for(judged: Judged, asked: str) -> tuple[CheckAdvice, ...]:
    """Advice on a check, or on one slot of it.

    Raises:
        CannotDo: there is no such check or slot, it cannot be adjusted, or it was not read yet.
    """
    step, slot = _named(judged.plan, asked)
    if adjusting(judged.plan, step) is None:
        what = f"'{step.text}' has no way of adjusting in its definition"
        raise CannotDo(what, "give it 'adjust'")
    found = tuple(
        check_advice for check_advice in advice_on(judged, step) if slot is None or slot in check_advice.slots
    )
    if not found:
        what = f"nothing was read yet for {asked}"
        raise CannotDo(what, "read it as found, record it, then ask again")
    return found


def keep_adjustment(session: Session, serial: str, asked: str, done: Done) -> Appended:
    """Records that an adjustment was made, beside what the tool advised at that moment.

    Findings: PER001 to PER003 who may not, SEQ004, SEQ005 dated wrongly.

    Raises:
        CannotDo: as in :func:`advice_for`, or the check has several slots and none is named.
    """
    if not done.text.strip():
        what = "what was done is missing"
        raise CannotDo(what, 'give it with --done "…"')

    def propose(before: Judged, _: Transaction) -> Proposal:
        advised = advice_for(before, asked)
        if len(advised) > 1:
            what = f"{asked} has {len(advised)} slots; name the adjusted one"
            raise CannotDo(what, f"slots are {', '.join(advice.slots[0] for advice in advised[:4])}")
        body = _body(advised[0], done)
        return Proposal(
            [session.draft(serial, done.by, body, at=done.at, slot=slot) for slot in advised[0].slots]
        )

    return append(session, serial, propose)


def _body(advice: CheckAdvice, done: Done) -> Adjusted:
    advised = advice.advice.text if advice.advice is not None else None
    return Adjusted(done=done.text.strip(), amount=done.amount, advised=advised, followed=done.followed)


def _named(plan: Plan, asked: str) -> tuple[Step, str | None]:
    """The step of a check or slot, and the slot if it is one."""
    step = plan.check(asked)
    if step is not None:
        return step, None
    if asked in plan.step_of:
        return plan.step_of[asked], asked
    known = [step.check for step in plan.steps() if step.check is not None]
    what = f"{plan.product} has no check '{asked}'"
    raise CannotDo(what, did_you_mean(asked, [*known, *plan.by_slot], f"checks are {', '.join(known)}"))
