"""How a gauge stands today."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from traveler.shop.gauges import Calibration, Gauge, GaugeState, Withdrawal, gauge_today

NOON = datetime(2026, 11, 2, 12, 0, tzinfo=UTC)
DAY = NOON.date()


def gauge(*calibrated: int, **rest: object) -> Gauge:
    """A gauge with good calibrations so many days ago, good for 100 days."""
    done = tuple(Calibration(on=DAY - timedelta(days=ago)) for ago in calibrated)
    return Gauge.model_validate({"id": "A", "kind": "x", "interval_days": 100, "calibrations": done, **rest})


BAD = Calibration(on=DAY - timedelta(days=1), good=False, as_found="out of tolerance")
CASES = [
    (gauge(10), GaugeState.FIT, 90),
    (gauge(69), GaugeState.FIT, 31),
    (gauge(70), GaugeState.SOON, 30),
    (gauge(100), GaugeState.SOON, 0),
    (gauge(101), GaugeState.OVERDUE, -1),
    (gauge(300, 5), GaugeState.FIT, 95),
    (gauge(), GaugeState.NOT_CALIBRATED, None),
    (gauge(-1), GaugeState.NOT_CALIBRATED, None),
    (gauge(10, calibrations=(BAD,)), GaugeState.NOT_CALIBRATED, None),
    (gauge(10, withdrawn=DAY), GaugeState.WITHDRAWN, 90),
    (gauge(10, withdrawn=DAY + timedelta(days=1)), GaugeState.FIT, 90),
]


@pytest.mark.parametrize(("gauge", "standing", "days"), CASES)
def test_a_gauge_stands_as_its_calibrations_say(gauge: Gauge, standing: GaugeState, days: int | None) -> None:
    today = gauge_today(gauge, NOON, UTC, 30)
    assert (today.standing, today.days) == (standing, days)


@pytest.mark.parametrize(
    ("minutes", "standing"), [(-1, GaugeState.FIT), (0, GaugeState.WITHDRAWN), (60, GaugeState.FIT)]
)
def test_a_time_out_of_use_begins_and_ends_at_its_minute(minutes: int, standing: GaugeState) -> None:
    away = Withdrawal(out=datetime(2026, 11, 2, 12, 0), back=datetime(2026, 11, 2, 13, 0))  # noqa: DTZ001
    withdrawn = gauge(10, withdrawals=(away,))
    assert gauge_today(withdrawn, NOON + timedelta(minutes=minutes), UTC, 30).standing is standing


def test_the_day_is_that_of_the_shop() -> None:
    late = datetime(2026, 11, 2, 23, 30, tzinfo=UTC)
    assert gauge_today(gauge(100), late, UTC, 30).standing is GaugeState.SOON
    assert gauge_today(gauge(100), late, ZoneInfo("Asia/Tokyo"), 30).standing is GaugeState.OVERDUE


def test_how_it_came_is_taken_as_out_unless_it_is_said_to_be_in() -> None:
    said = {"in tolerance": True, "In tolerance ": True, "in": True, "0.004 mm high": False, "out": False}
    assert {text: Calibration(on=date(2026, 1, 1), as_found=text).found_in for text in said} == said


def test_everything_is_text_or_a_whole_number_for_programs() -> None:
    withdrawn = gauge(10, withdrawals=(Withdrawal(out=datetime(2026, 11, 2), reason="lent"),))  # noqa: DTZ001
    said = gauge_today(withdrawn, NOON, UTC, 30).as_dict()
    assert (said["state"], said["withdrawn"], said["reason"]) == ("withdrawn", "2026-11-02T00:00:00", "lent")
    assert (said["due"], said["days"], said["calibrated"]) == ("2027-01-31", 90, "2026-10-23")


def test_of_two_calibrations_on_one_day_the_one_entered_last_counts() -> None:
    again = Calibration(on=BAD.on, certificate="C-2")
    repaired = gauge(10, calibrations=(BAD, again))
    assert repaired.last_calibration(DAY) == again
    assert gauge_today(repaired, NOON, UTC, 30).standing is GaugeState.FIT


@pytest.mark.parametrize(("gauge", "standing", "days"), CASES)
def test_the_list_of_gauges_and_the_acceptance_limits_use_the_same_gauges(
    gauge: Gauge, standing: GaugeState, days: int | None
) -> None:
    assert gauge.usable_on(DAY, UTC) is (standing in (GaugeState.FIT, GaugeState.SOON))
