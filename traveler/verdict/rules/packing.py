"""Findings about the crate: packing list, gross mass, wood mark, photographs (PAC001 to PAC004)."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from traveler.definition.plan import Plan, Step, StepKind
from traveler.finding import Finding
from traveler.measure.limits import Limits
from traveler.measure.number import display_number
from traveler.measure.quantity import Quantity, same_dimension
from traveler.record.entry import Crated
from traveler.verdict.case import Case
from traveler.verdict.plan_index import Phase, phase_of_slot, plan_index
from traveler.verdict.rows import number_or, quantity_or_none

WOOD_MARK = ("wood mark", "treatment mark")
"""Words by which a step or remark speaks of the mark; the check id ``wood-mark`` says it in any language."""


def is_gross_mass(plan: Plan, step: Step) -> bool:
    """Whether the step weighs the closed crate: its limits lie around the expected gross mass."""
    limits = plan_index(plan).limits.get(step.id)
    expected = (
        quantity_or_none(plan.crate.gross_mass) if plan.crate is not None and plan.crate.gross_mass else None
    )
    if (
        limits is None
        or expected is None
        or limits.nominal is None
        or phase_of_slot(step.id) is not Phase.CRATING
    ):
        return False
    return same_dimension(expected.unit, limits.unit) and expected.to(limits.unit).value == limits.nominal


def is_wood_mark(plan: Plan, step: Step) -> bool:
    """Whether the step asks for the treatment mark of the wood (ISPM 15)."""
    wanted = plan.crate is not None and plan.crate.wood_mark == "required"
    named = step.check == "wood-mark" or any(phrase in step.text.casefold() for phrase in WOOD_MARK)
    return wanted and named and step.kind is not StepKind.MEASURE


def missing_code(plan: Plan, step: Step) -> str | None:
    """The code for open slots of this step, where packing has one of its own."""
    if step.kind is StepKind.PACK:
        return "PAC001"
    if step.kind is StepKind.PHOTO:
        return "PAC004"
    return "PAC003" if is_wood_mark(plan, step) else None


def check_gross_mass(case: Case, weighed: dict[str, Quantity]) -> Iterator[Finding]:
    """The mass on the scale against what the crate should weigh.

    Args:
        case: The unit.
        weighed: Slot → what was read there, for the slots with a deciding reading.
    """
    for step in case.plan.steps():
        limits = case.index.limits.get(step.id)
        if limits is None or not is_gross_mass(case.plan, step):
            continue
        for slot in step.slots:
            read, seq = weighed.get(slot.id), case.filled[slot.id].last.seq if slot.id in case.filled else 0
            if read is not None and case.concession(slot.id, seq) is None:
                yield from _weighed(case, slot.id, seq, read, limits)
        yield from _given(case, limits)


def _given(case: Case, limits: Limits) -> Iterator[Finding]:
    """The mass given when the crate was closed."""
    for entry in case.of_kind("crated"):
        body = entry.body
        given = quantity_or_none(body.gross_mass) if isinstance(body, Crated) and body.gross_mass else None
        if given is not None:
            yield from _weighed(case, None, entry.seq, given, limits)


def _weighed(case: Case, slot: str | None, seq: int, read: Quantity, limits: Limits) -> Iterator[Finding]:
    if not same_dimension(read.unit, limits.unit):
        return
    value = read.to(limits.unit).value
    low = limits.lower is not None and value < limits.lower
    high = limits.upper is not None and value > limits.upper
    if not low and not high:
        return
    off = value - (limits.nominal or Fraction(0))
    side = "less" if low else "more"
    wrong = f"{display_number(abs(off), limits.decimals)} {limits.unit} {side} than expected"
    what = f"the crate weighs {read}, {wrong} ({limits.describe()})"
    yield case.finding("PAC002", what, slot=slot, entry=seq, hint=_suspect(case.plan, off, limits))


def _suspect(plan: Plan, off: Fraction, limits: Limits) -> str:
    """The packing items whose absence (or double presence) would best explain the difference."""
    room = ((limits.upper or Fraction(0)) - (limits.lower or Fraction(0))) / 4
    named: list[tuple[Fraction, str]] = []
    for item in (item for step in plan.steps() for item in step.packing):
        mass = quantity_or_none(item.mass) if item.mass else None
        if mass is None or not same_dimension(mass.unit, limits.unit):
            continue
        piece = mass.to(limits.unit).value
        pieces = min(round(abs(off) / piece), _whole(item.quantity)) if piece > 0 else 0
        rest = abs(abs(off) - pieces * piece)
        if pieces and rest <= room:
            named.append((rest, f"{pieces} × {item.item}" if pieces > 1 else item.item))
    if not named:
        return "open it and go through the packing list"
    verb = "missing" if off < 0 else "packed twice"
    return f"look whether one of these is {verb}: {', '.join(text for _, text in sorted(named)[:4])}"


def _whole(quantity: str) -> int:
    """The whole number of pieces of a packing item; 1 where it is not one."""
    return int(number_or(quantity, Fraction(1), above=Fraction(0)))


def wood_mark_unasked(plan: Plan) -> bool:
    """Whether the crate must carry the wood mark and no step asks for it."""
    wanted = plan.crate is not None and plan.crate.wood_mark == "required"
    return wanted and not any(is_wood_mark(plan, step) for step in plan.steps())


def wood_mark_noted(case: Case) -> bool:
    """Whether a remark records the wood mark."""
    texts = (getattr(entry.body, "text", "").casefold() for entry in case.of_kind("noted"))
    return any(phrase in text for text in texts for phrase in WOOD_MARK)


def check_wood_mark(case: Case) -> Iterator[Finding]:
    """A crate that must carry the mark, when it is being packed or closed and nothing records the mark.

    Where the plan has a step for it, the open slot of that step is the finding.
    """
    if any(case.index.phase(slot) is Phase.CRATING for slot in case.filled) or case.of_kind("crated"):
        yield from wood_mark_missing(case)


def wood_mark_missing(case: Case) -> Iterator[Finding]:
    """PAC003, where the crate must carry the mark, no step asks for it, and no remark records it."""
    if wood_mark_unasked(case.plan) and not wood_mark_noted(case):
        what = "the crate must carry the wood mark, and nothing records that it does"
        yield case.finding(
            "PAC003", what, hint="note the wood mark, and give the crating a step with the id wood-mark"
        )
