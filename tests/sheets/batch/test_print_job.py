"""Acceptance limits on sheets: the strictest of the usable gauges, never one that leaves nothing."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from traveler.definition.plan import GaugeNeed, Operation, Plan, PlanLimits, Step, StepKind
from traveler.sheets.batch.print_job import acceptance_limits
from traveler.shop.folder import Shop
from traveler.shop.gauges import Calibration, Gauge, GaugeRegister
from traveler.shop.people import People
from traveler.shop.settings import Settings

DAY = date(2026, 11, 2)


def gauge(name: str, uncertainty: str, *, on: date = date(2026, 2, 2), **more: object) -> Gauge:
    return Gauge(
        id=name, kind="indicator", uncertainty=uncertainty, interval_days=365,
        calibrations=(Calibration(on=on),), **more,  # type: ignore[arg-type]
    )  # fmt: skip


def plan(limits: str, rule: str | None = "guarded") -> Plan:
    step = Step(
        id="10-1", number=1, kind=StepKind.MEASURE, text="Run-out", check="runout", rule=rule,
        limits=PlanLimits(text=limits, unit="mm"), gauge=GaugeNeed(kind="indicator", title="Indicator"),
    )  # fmt: skip
    operation = Operation(number="10", title="Frame", steps=(step,))
    return Plan(
        product="x", title="X", revision="A", revised="2026-01-12", approved_by="rhale", digest="0" * 64,
        variant="1", operations=(operation,),
    )  # fmt: skip


def limits_for(made: Plan, *gauges: Gauge, **settings: object) -> dict[str, str]:
    shop = Shop(Path("/"), Settings(name="X", **settings), People(), GaugeRegister(gauges=gauges))  # type: ignore[arg-type]
    return dict(acceptance_limits(shop, made, DAY))


def test_the_guard_band_is_taken_off_each_limit() -> None:
    assert limits_for(plan("10 ± 0.05 mm"), gauge("A", "0.003 mm")) == {"runout": "9.953 to 10.047 mm"}


def test_the_largest_uncertainty_in_use_rules() -> None:
    found = limits_for(plan("max 0.05 mm"), gauge("A", "0.003 mm"), gauge("B", "0.005 mm"))
    assert found == {"runout": "max 0.045 mm"}


@pytest.mark.parametrize(
    "unusable",
    [
        gauge("B", "0.005 mm", on=date(2024, 1, 1)),
        gauge("B", "0.005 mm", on=date(2026, 12, 1)),
        gauge("B", "0.005 mm", withdrawn=date(2026, 11, 2)),
    ],
)
def test_a_gauge_that_may_not_be_used_does_not_rule(unusable: Gauge) -> None:
    assert limits_for(plan("max 0.05 mm"), gauge("A", "0.003 mm"), unusable) == {"runout": "max 0.047 mm"}


def test_a_gauge_that_would_leave_nothing_is_passed_over() -> None:
    found = limits_for(plan("10 ± 0.05 mm"), gauge("A", "0.003 mm"), gauge("B", "0.2 mm"))
    assert found == {"runout": "9.953 to 10.047 mm"}


def test_uncertainty_in_another_unit_is_converted_exactly() -> None:
    assert limits_for(plan("max 0.05 mm"), gauge("A", "3 µm")) == {"runout": "max 0.047 mm"}


def test_the_guard_factor_of_the_shop_counts() -> None:
    assert limits_for(plan("max 0.05 mm"), gauge("A", "0.003 mm"), guard_factor="0.5") == {
        "runout": "max 0.0485 mm"
    }


@pytest.mark.parametrize(
    ("rule", "shop", "printed"), [(None, "simple", 0), (None, "guarded", 1), ("simple", "guarded", 0)]
)
def test_the_check_may_overrule_the_shop(rule: str | None, shop: str, printed: int) -> None:
    found = limits_for(plan("max 0.05 mm", rule), gauge("A", "0.003 mm"), decision_rule=shop)
    assert len(found) == printed


def test_without_a_usable_gauge_nothing_is_printed() -> None:
    assert limits_for(plan("max 0.05 mm")) == {}
