"""Notices from readings: raised when they should be, silent when they should be."""

from datetime import UTC, datetime, timedelta
from fractions import Fraction

import numpy as np
import pytest

from traveler.measure.limits import parse_limits
from traveler.trace.stats.series import CheckSeries, Point, UnitDefect
from traveler.trace.watch import REPEATED, Urgency, from_readings
from traveler.verdict.state import SlotState

BEGUN = datetime(2026, 9, 14, tzinfo=UTC)
MINIMUM = Fraction(4, 3)


class Collected:
    """As much of a collector as the notices read."""

    def __init__(self, series=(), troubles=()):
        self._series, self.troubles = tuple(series), list(troubles)

    def series(self):
        return self._series


def series(values, limits="22.5 to 25.5 N·m"):
    bounds = parse_limits(limits)
    made = CheckSeries("torque", False, (("screw", "3"),), "N·m", (bounds.lower, bounds.upper), bounds)
    made.points = [
        Point(
            f"U{at}", BEGUN + timedelta(hours=at), 3, Fraction(str(value)), SlotState.IN, "t", "T", "A", "4"
        )
        for at, value in enumerate(values)
    ]
    return made


def drawn(n=60, middle=24.0, spread=0.2, rise=0.0):
    noise = np.random.default_rng(5).normal(0, spread, n)
    return [f"{middle + rise * at + value:.2f}" for at, value in enumerate(noise)]


def told(collected, since=BEGUN):
    return list(from_readings("winder", collected, since, MINIMUM))


def test_a_capable_check_that_does_not_drift_says_nothing():
    assert told(Collected([series(drawn())])) == []


@pytest.mark.parametrize(
    ("rise", "level"), [(0.012, Urgency.LOOK), (0.022, Urgency.ACT)], ids=["far from it", "nearly there"]
)
def test_a_drift_is_as_pressing_as_it_is_near(rise, level):
    (drift,) = [
        item for item in told(Collected([series(drawn(rise=rise, spread=0.1))])) if item.subject == "drift"
    ]
    assert drift.level is level
    assert "drifts upward" in drift.what
    assert drift.look == "traveler readings statistics winder torque --position screw=3"


def test_a_drift_away_from_the_only_limit_is_no_notice():
    rising = series(drawn(rise=0.012, spread=0.1), "min 22.5 N·m")
    assert [item for item in told(Collected([rising])) if item.subject == "drift"] == []


def test_a_check_not_read_since_then_is_left_alone():
    assert told(Collected([series(drawn(spread=0.8))]), since=BEGUN + timedelta(days=30)) == []


def test_capability_under_the_minimum_says_how_sure_that_is():
    (sure,) = told(Collected([series(drawn(spread=0.8))]))
    assert "is below the shop's minimum 1.33" in sure.what
    (perhaps,) = told(Collected([series(drawn(n=20, spread=0.40))]))
    assert "may be below" in perhaps.what
    assert "too few for more than a first estimate" in perhaps.what


def test_too_few_readings_are_not_judged():
    assert told(Collected([series(drawn(n=9, spread=2.0))])) == []


def test_equal_readings_are_not_judged():
    assert told(Collected([series(["24.0"] * 40)])) == []


def test_a_trouble_is_told_when_enough_units_had_it_since_then():
    late = [UnitDefect(f"U{at}", "out at the first reading", BEGUN, "gap") for at in range(REPEATED)]
    twice = [UnitDefect("U1", "struck out", BEGUN, "gap")] * 5
    early = [UnitDefect(f"U{at}", "stopped", BEGUN - timedelta(days=9), "gap") for at in range(9)]
    (notice,) = told(Collected(troubles=[*late, *twice, *early]))
    assert notice.what == "winder gap: out at the first reading, on 3 units: U0, U1, U2"
    assert notice.look == "traveler readings statistics winder gap"


def test_many_steady_checks_raise_no_alarm_where_single_ones_would():
    """Two hundred checks without a drift: a few look like one at 5 %, none is listed."""
    noise = np.random.default_rng(8)
    steady = [series([f"{value:.2f}" for value in noise.normal(24.0, 0.2, 60)]) for _ in range(200)]
    alone = sum(
        len([notice for notice in told(Collected([item])) if notice.subject == "drift"]) for item in steady
    )
    assert alone > 3
    assert [item for item in told(Collected(steady)) if item.subject == "drift"] == []


def test_a_real_drift_among_many_steady_checks_is_told():
    noise = np.random.default_rng(8)
    steady = [series([f"{value:.2f}" for value in noise.normal(24.0, 0.2, 60)]) for _ in range(100)]
    drifting = series(drawn(rise=0.012, spread=0.1))
    assert [item.subject for item in told(Collected([*steady, drifting])) if item.subject == "drift"] == [
        "drift"
    ]
