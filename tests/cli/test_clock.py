"""The clock: times a person gives are the shop's, and mean what they say."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from traveler.cli.clock import moment, now, shown

from traveler.finding import CannotDo

NOW = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)


def test_without_a_time_the_present_moment_counts() -> None:
    assert moment(None, "Europe/Madrid", NOW) is NOW


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("2026-07-02T10:00", datetime(2026, 7, 2, 8, 0, tzinfo=UTC)),
        ("2026-12-02 10:00", datetime(2026, 12, 2, 9, 0, tzinfo=UTC)),
        ("2026-12-02T10:00:30+05:30", datetime(2026, 12, 2, 4, 30, 30, tzinfo=UTC)),
        (" 2026-12-02T09:00Z ", datetime(2026, 12, 2, 9, 0, tzinfo=UTC)),
    ],
)
def test_a_time_without_a_zone_is_the_shops(text: str, meant: datetime) -> None:
    assert moment(text, "Europe/Madrid", NOW) == meant


@pytest.mark.parametrize("text", ["", "today", "2026-12-02", "10:00", "2026-02-30T10:00", "20261202"])
def test_what_is_no_time_is_refused(text: str) -> None:
    with pytest.raises(CannotDo, match="not a date with a time"):
        moment(text, "Europe/Madrid", NOW)


def test_the_clock_can_be_set_for_a_demonstration(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TRAVELER_NOW", "2026-11-02T09:00:00+01:00")
    assert now() == NOW
    monkeypatch.delenv("TRAVELER_NOW")
    assert abs((datetime.now(UTC) - now()).total_seconds()) < 60


def test_times_are_shown_as_on_the_shops_wall() -> None:
    assert shown(NOW, "Pacific/Auckland") == "2026-11-02 21:00"
