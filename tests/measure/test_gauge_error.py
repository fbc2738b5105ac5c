"""Errors found in gauges: how they are written, and what readings are worth without them."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.gauge_error import FoundError, corrected, parse_error
from traveler.measure.number import Unreadable, exact_text
from traveler.measure.quantity import Quantity, parse_quantity

WRITTEN = {
    "+0.02 mm": ("+0.02 mm", "1/50 mm", 0),
    "-0.5 %": ("-0.5 %", None, Fraction(-1, 200)),
    "−0.5%": ("-0.5%", None, Fraction(-1, 200)),
    " + 0.02 mm  - 0.5 % ": ("+ 0.02 mm - 0.5 %", "1/50 mm", Fraction(-1, 200)),
    "-0.5 % -3 µm": ("-0.5 % -3 µm", "-3 µm", Fraction(-1, 200)),
    "+1e-3 in": ("+1e-3 in", "1/1000 in", 0),
    "0 mm": ("0 mm", "0 mm", 0),
    "+0,05 mm": ("+0,05 mm", "1/20 mm", 0),
}

REFUSED = {
    "": "ERR001",
    "±0.02 mm": "ERR001",
    "+1 mm +2 mm": "ERR001",
    "+1 % +2 %": "ERR001",
    "0.02 mm": "ERR002",
    "0.5 %": "ERR002",
    "-100 %": "ERR004",
    "-250 %": "ERR004",
    "+0.02": "UNT001",
    "+0.02 mmm": "UNT002",
    "+x mm": "NUM001",
    "+ %": "NUM001",
}

CORRECTED = [  # worked out by hand: shown minus constant, over one plus share
    ("0.049 mm", "+0.02 mm", "0.029", 3),
    ("0.049 mm", "-0.02 mm", "0.069", 3),
    ("0.049 mm", "+2 µm", "0.047", 3),
    ("0.05 mm", "+0.001 mm", "0.049", 3),
    ("100.5 N·m", "+0.5 %", "100", 1),
    ("100.7 N·m", "+0.2 N·m +0.5 %", "100", 1),
    ("99.5 N", "-0.5 %", "100", 1),
    ("2 in", "+0.254 mm", "1.99", 2),
    ("20.1 °C", "+0.9 °F", "19.6", 1),
    ("293.15 K", "+0.5 °C", "292.65", 2),
    ("71.0 dB", "+0.8 dB", "70.2", 1),
    ("1 mm", "+200 %", "1/3", 2),
]


@pytest.mark.parametrize("text", WRITTEN)
def test_an_error_is_a_constant_and_a_share_of_the_value(text: str) -> None:
    written, constant, share = WRITTEN[text]
    found = parse_error(text)
    assert (str(found), found.share) == (written, share)
    if constant is None:
        assert found.constant is None
    else:
        assert found.constant is not None
        expected = parse_quantity(constant)
        assert (found.constant.value, found.constant.unit) == (expected.value, expected.unit)


@pytest.mark.parametrize("text", REFUSED)
def test_what_is_no_error_is_refused_with_what_to_write(text: str) -> None:
    with pytest.raises(Unreadable) as refused:
        parse_error(text)
    assert refused.value.code == REFUSED[text]
    assert refused.value.hint or refused.value.code == "UNT002"


def test_a_missing_sign_is_never_guessed_but_zero_needs_none() -> None:
    with pytest.raises(Unreadable, match="which way") as refused:
        parse_error("0.02 mm")
    assert "+0.02 mm if the gauge showed too much" in refused.value.hint
    assert parse_error("0 mm").nothing
    assert parse_error("0 %").nothing
    assert not parse_error("-1 %").nothing


@pytest.mark.parametrize(("shown", "error", "true", "decimals"), CORRECTED)
def test_a_reading_without_the_error(shown: str, error: str, true: str, decimals: int) -> None:
    read = parse_quantity(shown)
    found = corrected(read, parse_error(error))
    assert (exact_text(found.value), found.unit) == (true, read.unit)
    assert found.decimals >= decimals


def test_a_gauge_that_shows_too_much_makes_a_good_reading_of_a_bad_part_when_it_is_a_minimum() -> None:
    assert corrected(parse_quantity("8.01 N"), parse_error("+0.02 N")).value < 8
    assert corrected(parse_quantity("7.99 N"), parse_error("-0.02 N")).value > 8


@pytest.mark.parametrize("shown", ["20 °C", "68 °F", "71 dB", "71 dB(A)"])
def test_per_cent_of_what_has_no_zero_of_its_own_is_refused(shown: str) -> None:
    with pytest.raises(Unreadable) as refused:
        corrected(parse_quantity(shown), parse_error("+1 %"))
    assert refused.value.code == "ERR003"


def test_an_error_of_another_dimension_cannot_be_taken_off() -> None:
    with pytest.raises(Unreadable) as refused:
        corrected(parse_quantity("20 N"), parse_error("+0.02 mm"))
    assert refused.value.code == "UNT003"


numbers = st.fractions(max_denominator=1000)
shares = st.fractions(min_value=Fraction(-9, 10), max_value=10, max_denominator=100)


@given(numbers, numbers, shares)
def test_putting_the_error_back_gives_the_reading(
    value: Fraction, constant: Fraction, share: Fraction
) -> None:
    error = FoundError(Quantity(constant, "mm", "", 3), share, "")
    true = corrected(Quantity(value, "mm", "", 3), error).value
    assert true * (1 + share) + constant == value


@given(st.text(max_size=30))
def test_any_text_is_an_error_or_refused(text: str) -> None:
    try:
        assert parse_error(text).written
    except Unreadable as refused:
        assert refused.code[:3] in {"ERR", "NUM", "UNT"}  # noqa: PT017 - either outcome is right
