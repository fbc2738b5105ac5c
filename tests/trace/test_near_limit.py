from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.factors import limit_zones


@pytest.mark.parametrize(
    ("reading", "limits", "expected"),
    [
        ("10.00", {"lower": "9.9", "upper": "10.1"}, ()),
        ("10.05", {"lower": "9.9", "upper": "10.1"}, ("upper quarter",)),
        ("10.08", {"lower": "9.9", "upper": "10.1"}, ("upper tenth", "upper quarter")),
        ("10.1", {"lower": "9.9", "upper": "10.1"}, ("upper tenth", "upper quarter")),
        ("10.11", {"lower": "9.9", "upper": "10.1"}, ("beyond upper", "upper tenth", "upper quarter")),
        ("9.91", {"lower": "9.9", "upper": "10.1"}, ("lower tenth", "lower quarter")),
        ("0.03", {"upper": "0.05"}, ()),
        ("0.045", {"upper": "0.05"}, ("upper tenth", "upper quarter")),
        ("8.9", {"lower": "8"}, ("lower quarter",)),
        ("-0.1", {"upper": "0"}, ()),
        ("5", {}, ()),
    ],
)
def test_zones_are_shares_of_the_tolerance_next_to_a_limit(reading, limits, expected):
    assert limit_zones(reading, **limits) == expected


@given(st.integers(-500, 500), st.integers(-300, 0), st.integers(1, 300))
def test_turned_upside_down_the_sides_change_places(reading, lower, upper):
    turned = [zone.replace("upper", "*").replace("lower", "upper").replace("*", "lower")
              for zone in limit_zones(-reading, lower=-upper, upper=-lower)]  # fmt: skip
    assert sorted(turned) == sorted(limit_zones(reading, lower=lower, upper=upper))


@given(st.integers(0, 100), st.fractions(min_value=Fraction(1, 10), max_value=10, max_denominator=20))
def test_zones_do_not_depend_on_the_unit(reading, factor):
    assert limit_zones(reading, lower=0, upper=100) == limit_zones(
        reading * factor, lower=0, upper=100 * factor
    )
