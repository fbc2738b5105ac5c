"""Windows of time: days in the shop's zone, and so far back."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from traveler.cli.windows import day_begins, day_ends

from traveler.finding import CannotDo


@pytest.fixture
def session(year: Any) -> Any:
    """23:30 UTC on the 14th is half past midnight on the 15th in Dublin."""
    return replace(year, now=datetime(2026, 9, 14, 23, 30, tzinfo=UTC))


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-09-01", "2026-09-01"), ("7d", "2026-09-08"), ("2w", "2026-09-01"), ("1m", "2026-08-16"),
        ("1y", "2025-09-15"), (" 10 d ", "2026-09-05"),
    ],
)  # fmt: skip
def test_a_window_begins_at_midnight_in_the_shop(session: Any, text: str, day: str) -> None:
    found = day_begins(session, text)
    assert found.astimezone(session.shop.zone).strftime("%Y-%m-%d %H:%M") == f"{day} 00:00"
    assert str(found.tzinfo) == "Europe/Dublin"


def test_a_window_ends_with_its_last_day(session: Any) -> None:
    assert day_ends(session, "2026-09-01").strftime("%Y-%m-%d %H:%M:%S") == "2026-09-01 23:59:59"


@pytest.mark.parametrize("text", ["", "yesterday", "d7", "2026-13-01", "99999d", "2026-9-1x"])
def test_anything_else_is_refused(session: Any, text: str) -> None:
    with pytest.raises(CannotDo, match="is neither a day nor a duration"):
        day_begins(session, text)
    with pytest.raises(CannotDo, match="is not a day"):
        day_ends(session, text)
