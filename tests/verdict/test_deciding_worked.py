"""Worked-out values as people read them: short, and never at odds with their state."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.limits import parse_limits
from traveler.measure.quantity import Quantity
from traveler.verdict.deciding import worked_text


def text(value: Fraction, limits: str) -> str:
    read = parse_limits(limits)
    return worked_text(Quantity(value, read.unit, "", 2), read)


@pytest.mark.parametrize(
    ("value", "limits", "expected"),
    [
        (Fraction(1, 62), "max 0.50 mm/m", "0.0161"),
        (Fraction("0.003"), "max 0.02 mm", "0.003"),
        (Fraction("0.5"), "max 0.50 mm/m", "0.50"),
        (Fraction(1, 3), "max 1 mm", "0.33"),
        (Fraction("0.5000001"), "max 0.50 mm", "0.5000001"),
        (Fraction(1, 2) + Fraction(1, 3 * 10**6), "max 0.50 mm", "0.5000003"),
        (Fraction(1, 3) - 5, "-5 to 5 mm", "-4.67"),
    ],
)
def test_a_worked_out_value_has_two_decimals_more_than_its_limits(
    value: Fraction, limits: str, expected: str
) -> None:
    assert text(value, limits) == expected


@given(
    st.fractions(-2, 2, max_denominator=10**9), st.sampled_from(["max 0.5 mm", "min 0.5 mm", "-1 to 0.25 mm"])
)
def test_what_is_printed_stands_where_the_value_stands(value: Fraction, limits: str) -> None:
    read = parse_limits(limits)
    printed = Fraction(text(value, limits))
    for bound in (read.lower, read.upper):
        if bound is not None:
            assert (printed > bound, printed < bound) == (value > bound, value < bound)
