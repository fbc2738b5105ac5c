"""How wide a tolerance is, and what a gauge can tell of it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from traveler.measure.judge import judge
from traveler.measure.limits import Limits
from traveler.measure.quantity import Quantity
from traveler.measure.units import parse_unit
from traveler.measure.unreadable import Unreadable
from traveler.verdict.case import Case
from traveler.verdict.judging import Ruling
from traveler.verdict.weighing import quantity_or_none


def uncertainty_ratio(ruling: Ruling) -> Fraction | None:
    """Test uncertainty ratio of the gauge on the limits of a reading; None where it is not known."""
    if ruling.limits is None or ruling.uncertainty is None:
        return None
    try:
        return judge(ruling.limits, ruling.value, uncertainty=ruling.uncertainty, k=ruling.k).ratio
    except Unreadable:
        return None


def span_of(limits: Limits) -> Fraction | None:
    """The width of the tolerance; of one-sided limits the distance of the bound from zero; None if that is 0.

    Common practice, no source: what has one bound only is a deviation from nothing (a run-out, a gap), or a
    strength above nothing. None also where zero means nothing: temperatures with a zero of their own, levels.
    """
    if limits.width is not None:
        return limits.width
    unit = parse_unit(limits.unit)
    bound = limits.upper if limits.upper is not None else limits.lower
    if unit.kind == "point" or unit.symbol.startswith("dB"):
        return None
    return abs(bound) if bound else None


def difference_in(unit: str, difference: Quantity) -> Fraction | None:
    """A difference (a step, an uncertainty) in another unit; None where the dimension is another."""
    try:
        return difference.difference_to(unit).value
    except Unreadable:
        return None


@dataclass(frozen=True, slots=True)
class Resolution:
    """The smallest step a gauge shows. ``decimal``: it is one in the last of ``decimals`` places."""

    step: Quantity
    decimals: int
    decimal: bool


@lru_cache(maxsize=1024)
def resolution_from(text: str) -> Resolution | None:
    """The resolution in a register's or definition's text; None where it says none."""
    step = quantity_or_none(text)
    if step is None or step.value <= 0:
        return None
    return Resolution(step, step.decimals, step.value == Fraction(1, 10**step.decimals))


def resolution_of(case: Case, ruling: Ruling) -> Resolution | None:
    """The resolution of the gauge that read it, else of the kind the plan asks for; None if not known."""
    body, need = ruling.body, ruling.step.gauge
    gauge = case.gauges.get(body.gauge) if body is not None and body.gauge else None
    text = (gauge.resolution if gauge is not None else None) or (
        need.resolution if need is not None else None
    )
    return resolution_from(text) if text else None
