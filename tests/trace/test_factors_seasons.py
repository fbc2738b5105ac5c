from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.factors import STEP, WINDOW, season_starts, span, with_seasons

DAYS = st.dates(min_value=date(1990, 1, 1), max_value=date(2100, 1, 1))


@given(DAYS)
def test_every_day_lies_in_two_or_three_windows_that_hold_it(day):
    starts = season_starts(day)
    assert len(starts) in (2, 3)
    assert all(start <= day < start + WINDOW for start in starts)
    assert list(starts) == sorted(set(starts))


@given(DAYS, st.integers(1, 45))
def test_any_six_weeks_lie_whole_in_some_window(day, length):
    last = day + timedelta(days=length)
    assert set(season_starts(day)) & set(season_starts(last))


def test_windows_lie_at_even_distances():
    starts = sorted(
        {start for at in range(800) for start in season_starts(date(2026, 1, 1) + timedelta(days=at))}
    )
    assert {b - a for a, b in pairwise(starts)} == {STEP}


def test_the_named_attributes_are_repeated_for_each_window():
    units = {"A": {"gauge": {"IND-03"}, "lot": {"L1"}}, "B": {"gauge": {"IND-04"}}}
    found = with_seasons(units, ["gauge", "person"], {"A": date(2026, 8, 1)})
    assert found["A"]["gauge"] == {
        "IND-03",
        "IND-03 from 2026-05-19 to 2026-08-17",
        "IND-03 from 2026-07-03 to 2026-10-01",
    }
    assert found["A"]["lot"] == {"L1"}
    assert found["B"] == units["B"]


@pytest.mark.parametrize("start", [date(2026, 5, 14), date(2027, 12, 1)])
def test_a_span_names_its_first_and_last_day(start):
    assert span(start) == f"from {start} to {start + timedelta(days=90)}"
