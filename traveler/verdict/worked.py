"""Worked-out slots: values computed from the readings that rule, judged like readings.

Under the guarded rule a worked-out value needs an uncertainty too. It is found as JCGM 100:2008, 5.1.3
note 2, allows: every reading is moved by its standard uncertainty, up and down, and half of what the value
moves is its share; the shares are combined as independent ones (5.1.2) and expanded with k = 2.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from traveler.definition.plan import Step, WorkOut
from traveler.finding import Finding
from traveler.measure.bounds import Limits
from traveler.measure.number import decimals_needed, exact_text, format_number, shown
from traveler.measure.quantity import Quantity
from traveler.measure.roots import length
from traveler.measure.unreadable import Unreadable
from traveler.measure.work_out import WorkedOut, work_out
from traveler.verdict.case import Case
from traveler.verdict.judging import Ruling, rule_of
from traveler.verdict.outcome import SlotState
from traveler.verdict.planned import Spot
from traveler.verdict.weighing import TWO, Weighed, value_text, weigh_quantity

Placed = tuple[tuple[tuple[str, str], ...], Quantity]
"""The positions of a reading with their values, and the reading."""

_MORE, _MOST = 2, 20
"""Decimals beyond those of the limits: as a rule, and at the most before the exact number is written."""


def work_out_slots(case: Case, rulings: Mapping[str, Ruling]) -> tuple[dict[str, Ruling], list[Finding]]:
    """Every worked-out slot whose inputs are all read, judged; and what could not be worked out (REA013)."""
    worked: dict[str, Ruling] = {}
    findings: list[Finding] = []
    for spot in case.planned.worked:
        inputs = [rulings[name] for name in spot.slot.inputs if name in rulings]
        if spot.step is None or not inputs or len(inputs) < len(spot.slot.inputs):
            continue
        try:
            worked[spot.slot.id] = _worked(case, spot, spot.step, inputs)
        except Unreadable as problem:
            what = f"{spot.slot.label}: {problem.what}"
            findings.append(case.say("REA013", what, slot=spot.slot.id, hint=problem.hint))
    return worked, findings


def _worked(case: Case, spot: Spot, step: Step, inputs: Sequence[Ruling]) -> Ruling:
    how, limits = step.how, case.planned.limits.get(step.id)
    if how is None:
        raise Unreadable("WRK001", "the plan does not say how it is worked out")
    unit = limits.unit if limits is not None else None
    placed = [(case.planned.spots[one.slot].slot.position, one.value) for one in inputs]
    found = _value(how, placed, unit)
    rule = rule_of(case, step)
    latest = max(one.seq or 0 for one in inputs)
    if limits is None:
        text = shown(found.value.value, found.value.decimals)
        done = Weighed(SlotState.DONE, found.value, found.value, text)
        return Ruling(spot.slot.id, step, None, done, where=found.where, latest=latest)
    expanded = _uncertainty(how, placed, unit, inputs) if rule.decision == "guarded" else None
    weighed = weigh_quantity(limits, found.value, rule, expanded, TWO)
    weighed = weighed._replace(text=worked_text(weighed.value, limits))
    return Ruling(spot.slot.id, step, limits, weighed, where=found.where, latest=latest)


def worked_text(value: Quantity, limits: Limits) -> str:
    """The number for people: two decimals more than the limits have, since a computed one may never end.

    More are shown where rounding would carry it onto or over a bound, so that print and state agree.
    """
    needed = decimals_needed(value.value)
    if limits.fractions or (needed is not None and needed <= limits.decimals + _MORE):
        return value_text(value, limits)
    bounds = [one for one in (limits.lower, limits.upper) if one is not None]
    for decimals in range(limits.decimals + _MORE, limits.decimals + _MOST):
        text = format_number(value.value, decimals)
        rounded = Fraction(text)
        if all((rounded > one, rounded < one) == (value.value > one, value.value < one) for one in bounds):
            return text
    return exact_text(value.value)


def _value(how: WorkOut, placed: Sequence[Placed], unit: str | None) -> WorkedOut:
    return work_out(
        how.function, placed, along=how.along, options=how.options, coordinates=how.coordinates, unit=unit
    )


def _uncertainty(
    how: WorkOut, placed: Sequence[Placed], unit: str | None, inputs: Sequence[Ruling]
) -> Quantity | None:
    """Expanded uncertainty (k = 2) of the worked-out value; None where that of a reading is not known."""
    shares: list[Fraction] = []
    symbol = ""
    for number, one in enumerate(inputs):
        if one.uncertainty is None:
            return None
        step = one.uncertainty.difference_to(one.value.unit).value / one.k
        high, low = (_value(how, _moved(placed, number, by), unit).value for by in (step, -step))
        shares.append((high.value - low.value) / 2)
        symbol = high.unit
    combined = length(sum((share**2 for share in shares), Fraction(0)))
    return Quantity(2 * combined, symbol, "worked out", 0)


def _moved(placed: Sequence[Placed], number: int, by: Fraction) -> list[Placed]:
    moved = list(placed)
    position, read = moved[number]
    moved[number] = (position, Quantity(read.value + by, read.unit, read.written, read.decimals))
    return moved
