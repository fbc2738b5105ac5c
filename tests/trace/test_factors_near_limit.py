from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.limits import Limits, parse_limits
from traveler.trace.factors import limit_zones


@pytest.mark.parametrize(
    ("reading", "limits", "expected"),
    [
        ("10.00", "9.9 to 10.1 mm", ()),
        ("10.05", "9.9 to 10.1 mm", ("upper quarter",)),
        ("10.08", "9.9 to 10.1 mm", ("upper tenth", "upper quarter")),
        ("10.1", "9.9 to 10.1 mm", ("upper tenth", "upper quarter")),
        ("10.11", "9.9 to 10.1 mm", ("beyond upper", "upper tenth", "upper quarter")),
        ("9.91", "9.9 to 10.1 mm", ("lower tenth", "lower quarter")),
        ("0.03", "max 0.05 mm", ()),
        ("0.045", "max 0.05 mm", ("upper tenth", "upper quarter")),
        ("8.9", "min 8 N", ("lower quarter",)),
        ("-0.1", "max 0 mm", ()),
        ("19", "max 20 °C", ()),
    ],
)
def test_zones_are_shares_of_the_tolerance_next_to_a_limit(reading, limits, expected):
    assert limit_zones(Fraction(reading), parse_limits(limits)) == expected


def between(lower: int | Fraction, upper: int | Fraction) -> Limits:
    return Limits("", Fraction(lower), Fraction(upper), None, "mm", 2)


@given(st.integers(-500, 500), st.integers(-300, 0), st.integers(1, 300))
def test_turned_upside_down_the_sides_change_places(reading, lower, upper):
    turned = [zone.replace("upper", "*").replace("lower", "upper").replace("*", "lower")
              for zone in limit_zones(Fraction(-reading), between(-upper, -lower))]  # fmt: skip
    assert sorted(turned) == sorted(limit_zones(Fraction(reading), between(lower, upper)))


@given(st.integers(0, 100), st.fractions(min_value=Fraction(1, 10), max_value=10, max_denominator=20))
def test_zones_do_not_depend_on_the_unit(reading, factor):
    scaled = limit_zones(reading * factor, between(0, 100 * factor))
    assert limit_zones(Fraction(reading), between(0, 100)) == scaled
