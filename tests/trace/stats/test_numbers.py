from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.stats.numbers import estimate, exact, exact_root, scaled, to_digits


@pytest.mark.parametrize("written", ["0.050", "5e-2", Decimal("0.05"), Fraction(1, 20)])
def test_a_reading_is_the_same_number_however_it_is_given(written):
    assert exact(written) == Fraction(1, 20)


@pytest.mark.parametrize("wrong", [0.05, True, None, [1]])
def test_a_binary_float_and_what_is_no_number_are_refused(wrong):
    with pytest.raises(TypeError, match="not"):
        exact(wrong)


@pytest.mark.parametrize("wrong", ["", "five", "nan", "inf", "1/0", Decimal("NaN"), Decimal("Infinity")])
def test_text_that_is_no_finite_number_is_refused(wrong):
    with pytest.raises(ValueError, match="not a finite number"):
        exact(wrong)


@given(st.lists(st.fractions(max_denominator=1000), min_size=1, max_size=12))
def test_scaled_numbers_give_the_fractions_back(values):
    whole, scale = scaled(values)
    assert [Fraction(count, scale) for count in whole] == values


@given(st.fractions(min_value=0, max_value=10**9, max_denominator=10**6))
def test_a_root_squared_is_the_number_to_33_digits(value):
    assert abs(Fraction(exact_root(value)) ** 2 - value) <= value * Fraction(1, 10**32)


def test_estimates_keep_twelve_digits():
    assert estimate(2 / 3) == Decimal("0.666666666667")
    assert to_digits(Fraction(2, 3), 3) == Decimal("0.667")
    with pytest.raises(ValueError, match="not a finite result"):
        estimate(float("nan"))
