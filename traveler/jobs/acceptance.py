"""The acceptance limits that a sheet prints beside the specification where a check is guarded."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, datetime, time
from fractions import Fraction

from traveler.definition.plan import Plan, Step
from traveler.measure.judge import acceptance
from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import parse_number
from traveler.measure.quantity import parse_quantity
from traveler.measure.unreadable import Unreadable
from traveler.shop.folder import Shop


def acceptance_limits(shop: Shop, plan: Plan, day: date) -> Mapping[str, str]:
    """Check → acceptance limits as a person would write them, for each guarded check of the plan.

    They hold for every usable gauge of the kind: the largest uncertainty among those in calibration that day
    rules, passing over a gauge so uncertain that nothing of the tolerance would be left. A check without
    such a gauge is left out; the verdict will say why.
    """
    factor = parse_number(shop.settings.guard_factor).value
    guarded = (step for step in plan.steps() if (step.rule or shop.settings.decision_rule) == "guarded")
    found = ((step.check, _strictest(shop, step, day, factor)) for step in guarded)
    return {check: limits.describe() for check, limits in found if check is not None and limits is not None}


def _strictest(shop: Shop, step: Step, day: date, factor: Fraction) -> Limits | None:
    if step.limits is None or step.gauge is None:
        return None
    try:
        limits = parse_limits(step.limits.text)
    except Unreadable:
        return None
    for expanded in sorted(_uncertainties(shop, step.gauge.kind, limits.unit, day), reverse=True):
        left, _ = acceptance(limits, expanded, factor)
        if left is not None:
            return left
    return None


def _uncertainties(shop: Shop, kind: str, unit: str, day: date) -> Iterator[Fraction]:
    """Expanded uncertainties of the gauges of a kind that may be used on that day, in the unit."""
    for gauge in shop.gauges.gauges:
        due, known = gauge.due(day), gauge.uncertainty_on(day)
        withdrawn = gauge.withdrawal_at(datetime.combine(day, time.max, shop.zone), shop.zone) is not None
        if gauge.kind != kind or known is None or withdrawn or due is None or due < day:
            continue
        try:
            yield parse_quantity(known[0]).to(unit).value
        except Unreadable:
            continue
