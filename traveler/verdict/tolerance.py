"""How wide a tolerance is, and what a gauge can tell of it."""

from __future__ import annotations

from fractions import Fraction

from traveler.measure.judge import judge
from traveler.measure.limits import Limits
from traveler.measure.quantity import Quantity
from traveler.measure.unreadable import Unreadable
from traveler.verdict.case import Case
from traveler.verdict.judging import Ruling, quantity_or_none


def uncertainty_ratio(ruling: Ruling) -> Fraction | None:
    """Test uncertainty ratio of the gauge on the limits of a reading; None where it is not known."""
    if ruling.limits is None or ruling.uncertainty is None:
        return None
    try:
        return judge(ruling.limits, ruling.value, uncertainty=ruling.uncertainty, k=ruling.k).ratio
    except Unreadable:
        return None


def span_of(limits: Limits) -> Fraction | None:
    """The width of the tolerance; that of ``max L`` (L above zero) is L; None for other one-sided limits."""
    if limits.lower is not None and limits.upper is not None:
        return limits.upper - limits.lower
    return limits.upper if limits.upper is not None and limits.upper > 0 else None


def resolution_of(case: Case, ruling: Ruling) -> Quantity | None:
    """The resolution of the gauge that read it, else of the kind the plan asks for; None if not known."""
    body, need = ruling.body, ruling.step.gauge
    gauge = case.gauges.get(body.gauge) if body is not None and body.gauge else None
    text = (gauge.resolution if gauge is not None else None) or (
        need.resolution if need is not None else None
    )
    return quantity_or_none(text) if text else None
