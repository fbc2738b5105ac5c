"""How to bring in what is out: the advice of a check's adjust rule, computed from the recorded readings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from traveler.definition.plan import Adjustment, Plan, Slot, Step
from traveler.measure.adjust.advice import Advice
from traveler.measure.adjust.advise import AdjustedReading, advise
from traveler.measure.limits import parse_limits
from traveler.measure.number import Unreadable
from traveler.measure.quantity import Quantity
from traveler.record.entry import Adjusted, Read
from traveler.result import Result
from traveler.verdict.case import filled_slots
from traveler.verdict.judge import Judged
from traveler.verdict.rows import understood
from traveler.verdict.state import NOT_ACCEPTED


@dataclass(frozen=True, slots=True)
class CheckAdvice(Result):
    """Advice on one slot, or on all slots of a leveling at once. ``problem``: why there is no advice."""

    check: str
    slots: tuple[str, ...]
    reading: str
    limits: str
    advice: Advice | None
    sentence: str = ""
    problem: str = ""

    @property
    def text(self) -> str:
        """What to do, in one line."""
        if self.advice is None:
            return self.problem
        return "; ".join(dict.fromkeys(part for part in (self.advice.text, self.sentence) if part))


def advice_on(judged: Judged, step: Step) -> tuple[CheckAdvice, ...]:
    """Advice on every slot of a check that has been read; empty where the check has no adjust rule.

    A worked-out value is brought in by adjusting the check it is worked out from.
    """
    found = adjusting(judged.plan, step)
    if found is None:
        return ()
    rule, read = found
    if rule.rule == "level":
        return tuple(_level(judged, step, read, rule))
    wanted = (slot for slot in step.slots if judged.verdict.slots[slot.id].readings) if step is read else ()
    return tuple(_single(judged, step, slot, rule) for slot in wanted)


def adjusting(plan: Plan, step: Step) -> tuple[Adjustment, Step] | None:
    """The adjust rule of a check and the check that is read for it; None if it has none."""
    if step.adjust is not None:
        return step.adjust, step
    source = plan.check(step.how.check) if step.how is not None else None
    if source is not None and source.adjust is not None and source.adjust.rule == "level":
        return source.adjust, source
    return None


def advice_lines(judged: Judged) -> list[str]:
    """For every reading that is not in and can be adjusted: the slot, the reading, and what to do."""
    lines = []
    for step in judged.plan.steps():
        wanting = [slot.id for slot in step.slots if judged.verdict.slots[slot.id].state in NOT_ACCEPTED]
        for check_advice in advice_on(judged, step) if wanting else ():
            if set(check_advice.slots) & set(wanting) or step.how is not None:
                where = check_advice.slots[0] if len(check_advice.slots) == 1 else check_advice.check
                lines.append(
                    f"{judged.unit.serial} {where}: {check_advice.reading} against "
                    f"{check_advice.limits}: {check_advice.text}"
                )
    return lines


def _single(judged: Judged, step: Step, slot: Slot, rule: Adjustment) -> CheckAdvice:
    verdict = judged.verdict.slots[slot.id]
    reading = " ".join(part for part in (verdict.value, verdict.unit) if part)
    limits = _limits(judged, step, slot)
    try:
        history = _trials(judged, step, slot.id)
        advice = advise(rule.rule, rule.values, parse_limits(limits), history, text=rule.text)
    except Unreadable as problem:
        why = f"no advice: {problem.what}" + (f"; {problem.hint}" if problem.hint else "")
        return CheckAdvice(step.check or step.id, (slot.id,), reading, limits, None, problem=why)
    sentence = rule.text if advice.needed else ""
    return CheckAdvice(step.check or step.id, (slot.id,), reading, limits, advice, sentence)


def _level(judged: Judged, step: Step, read: Step, rule: Adjustment) -> Iterator[CheckAdvice]:
    """One piece of advice for each set of feet; ``level`` names the position whose values are the feet."""
    position = rule.values.get("level", "")
    sets: dict[tuple[tuple[str, str], ...], dict[str, Slot]] = {}
    for slot in read.slots:
        rest = tuple(pair for pair in slot.position if pair[0] != position)
        sets.setdefault(rest, {})[dict(slot.position).get(position, "")] = slot
    for feet in sets.values():
        yield _level_one(judged, step, feet, rule)


def _level_one(judged: Judged, step: Step, feet: dict[str, Slot], rule: Adjustment) -> CheckAdvice:
    slots = tuple(slot.id for slot in feet.values())
    states = [judged.verdict.slots[slot] for slot in slots]
    reading = ", ".join(
        f"{foot} {state.value} {state.unit}"
        for foot, state in zip(feet, states, strict=True)
        if state.value is not None
    )
    limits = _limits(judged, step, step.slots[0])
    try:
        heights = {
            foot: trials[-1].reading
            for foot, slot in feet.items()
            if (trials := _trials(judged, judged.plan.step_of[slot.id], slot.id))
        }
        advice = advise(
            "level", rule.values, parse_limits(limits), text=rule.text, places=rule.places, feet=heights
        )
    except Unreadable as problem:
        why = f"no advice: {problem.what}" + (f"; {problem.hint}" if problem.hint else "")
        return CheckAdvice(step.check or step.id, slots, reading, limits, None, problem=why)
    return CheckAdvice(
        step.check or step.id, slots, reading, limits, advice, rule.text if advice.needed else ""
    )


def _limits(judged: Judged, step: Step, slot: Slot) -> str:
    """What the reading must meet: the acceptance limits where the check is guarded."""
    written = step.limits.text if step.limits is not None else ""
    return judged.verdict.slots[slot.id].acceptance or written


def _trials(judged: Judged, step: Step, slot: str) -> list[AdjustedReading]:
    """The readings of a slot in the order of the work, with what was adjusted since the one before."""
    limits = judged.case.index.limits.get(step.id)
    trials: list[AdjustedReading] = []
    noted: list[str] = []
    case = judged.case
    there = filled_slots(case.index, case.standing, besides=("adjusted",)).get(slot)
    for body in (entry.body for entry in there.entries) if there is not None else ():
        if isinstance(body, Adjusted):
            noted.append(body.amount or body.done)
            continue
        reading = understood(body.value, body.unit, limits) if isinstance(body, Read) else None
        if isinstance(reading, Quantity):
            trials.append(AdjustedReading(reading, noted[-1] if noted else None))
            noted = []
    return trials
