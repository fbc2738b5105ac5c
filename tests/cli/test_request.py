"""What every command is asked with: the clock, times and days that a person gives, who does it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any, cast
from zoneinfo import ZoneInfo

import pytest

from traveler.cli.request import Request, first_moment, last_moment, now, shown
from traveler.finding import CannotDo
from traveler.text import NotUnderstood

NOW = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)
MADRID = ZoneInfo("Europe/Madrid")


@dataclass(frozen=True)
class Settings:
    time_zone: str = "Europe/Madrid"
    clock_slack: timedelta = timedelta(minutes=5)


@dataclass(frozen=True)
class Shop:
    zone: ZoneInfo = MADRID
    settings: Settings = field(default_factory=Settings)


@dataclass(frozen=True)
class Session:
    """As much of a session as a moment needs."""

    now: datetime = NOW
    today: date = date(2026, 11, 2)
    shop: Shop = field(default_factory=Shop)


SESSION = cast("Any", Session())


def test_without_a_time_the_present_moment_counts() -> None:
    assert Request().moment(SESSION) is NOW


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("2026-07-02T10:00", datetime(2026, 7, 2, 8, 0, tzinfo=UTC)),
        ("2026-11-02 09:00", datetime(2026, 11, 2, 8, 0, tzinfo=UTC)),
        ("2026-10-02T10:00:30+05:30", datetime(2026, 10, 2, 4, 30, 30, tzinfo=UTC)),
        (" 2026-10-02T09:00Z ", datetime(2026, 10, 2, 9, 0, tzinfo=UTC)),
    ],
)
def test_a_time_without_a_zone_is_the_shops(text: str, meant: datetime) -> None:
    assert Request(at=text).moment(SESSION) == meant


@pytest.mark.parametrize("text", ["", "today", "2026-11-02", "10:00", "2026-02-30T10:00", "20261102"])
def test_a_text_that_is_no_time_is_refused(text: str) -> None:
    with pytest.raises(NotUnderstood, match="is not a date with a time"):
        Request(at=text).moment(SESSION)


def test_a_time_in_the_future_is_refused_beyond_what_clocks_differ() -> None:
    assert Request(at="2026-11-02T09:05").moment(SESSION) == datetime(2026, 11, 2, 8, 5, tzinfo=UTC)
    with pytest.raises(CannotDo, match="is in the future; it is 2026-11-02 09:00 now"):
        Request(at="2026-11-02T09:06").moment(SESSION)


def test_a_person_who_is_not_named_is_asked_for() -> None:
    assert Request(by="tkiln").person == "tkiln"
    with pytest.raises(CannotDo, match="the person who does it is missing"):
        _ = Request().person


@pytest.mark.parametrize(
    ("since", "first"),
    [("2026-09-14", date(2026, 9, 14)), ("30d", date(2026, 10, 3)), ("2w", date(2026, 10, 19))],
)
def test_a_window_begins_and_ends_with_days_of_the_shop(since: str, first: date) -> None:
    begun = first_moment(SESSION, since)
    assert (begun.date(), begun.hour, begun.tzinfo) == (first, 0, MADRID)
    ended = last_moment(SESSION, "2026-09-30")
    assert (ended.date(), ended.hour, ended.tzinfo) == (date(2026, 9, 30), 23, MADRID)


def test_the_clock_can_be_set_for_a_demonstration(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TRAVELER_NOW", "2026-11-02T09:00:00+01:00")
    assert now() == NOW
    monkeypatch.delenv("TRAVELER_NOW")
    assert abs((datetime.now(UTC) - now()).total_seconds()) < 60


def test_times_are_shown_as_on_the_shops_wall() -> None:
    assert shown(NOW, "Pacific/Auckland") == "2026-11-02 21:00"
