"""The number pattern: what is read, what is refused, and that nothing is lost on the way."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.number import (
    Unreadable,
    arc_text,
    decimals_needed,
    display_number,
    exact_text,
    format_number,
    parse_number,
    tidy,
)

READ = {
    "0.050": ("1/20", 3),
    "0.05": ("1/20", 2),
    "0,05": ("1/20", 2),
    "0,050": ("1/20", 3),
    "0,125": ("1/8", 3),
    "5e-2": ("1/20", 2),
    "5.0E-2": ("1/20", 3),
    "5e2": ("500", 0),
    "1.25e1": ("25/2", 1),
    "12,5": ("25/2", 1),
    "1234,567": ("1234567/1000", 3),
    "1,2500": ("5/4", 4),
    "1.250": ("5/4", 3),
    ".005": ("1/200", 3),
    "010": ("10", 0),
    "+3": ("3", 0),
    "-3": ("-3", 0),
    "−3.5": ("-7/2", 1),  # U+2212
    " 7 ": ("7", 0),
    "1 3/8": ("11/8", 3),
    "1-3/8": ("11/8", 3),
    "-1 3/8": ("-11/8", 3),
    "3/8": ("3/8", 3),
    "1/64": ("1/64", 6),
    "1/3": ("1/3", 6),
    "-0": ("0", 0),
}
REFUSED = {
    "1,250": "NUM002",
    "-12,345": "NUM002",
    "1,250e3": "NUM002",
    "1,250.5": "NUM002",
    "1.250,5": "NUM002",
    "1,250,000": "NUM002",
    "1_000": "NUM001",
    "5.": "NUM001",
    "5,": "NUM001",
    ".": "NUM001",
    "": "NUM001",
    "e5": "NUM001",
    "1e": "NUM001",
    "٣": "NUM001",  # ARABIC-INDIC DIGIT THREE
    "５": "NUM001",  # FULLWIDTH DIGIT FIVE
    "½": "NUM001",
    "0x10": "NUM001",
    "12:30": "NUM001",
    "NO": "NUM001",
    "nan": "NUM001",
    "inf": "NUM001",
    "--5": "NUM001",
    "+-5": "NUM001",
    "1/0": "NUM001",
    "1 9/8": "NUM001",
    "1 1/1": "NUM001",
    "1/2/3": "NUM001",
    "1e31": "NUM003",
    "1e-999": "NUM003",
    "1e9999": "NUM001",
    "9" * 41: "NUM003",
    "9" * 41 + ".5": "NUM003",
    "9" * 201: "NUM003",
}


@pytest.mark.parametrize("text", READ)
def test_a_number_is_read_exactly_and_its_decimals_are_remembered(text: str) -> None:
    value, decimals = READ[text]
    assert parse_number(text) == (Fraction(value), decimals)


@pytest.mark.parametrize("text", REFUSED)
def test_what_is_no_number_is_refused_with_a_code_and_what_to_do(text: str) -> None:
    with pytest.raises(Unreadable) as refusal:
        parse_number(text)
    assert refusal.value.code == REFUSED[text]
    assert refusal.value.hint
    assert refusal.value.hint in str(refusal.value)


def test_an_ambiguous_comma_is_refused_with_both_readings() -> None:
    with pytest.raises(Unreadable, match=r"write 1\.250 or 1250") as refusal:
        parse_number("1,250")
    assert refusal.value.span == (0, 5)


@given(st.integers(-(10**18), 10**18), st.integers(0, 15))
def test_a_number_that_was_printed_reads_back_the_same(digits: int, decimals: int) -> None:
    value = Fraction(digits, 10**decimals)
    assert parse_number(format_number(value, decimals)) == (value, decimals)


@given(st.fractions(max_denominator=10**9, min_value=-(10**9), max_value=10**9))
def test_exact_text_loses_nothing(value: Fraction) -> None:
    needed = decimals_needed(value)
    if needed is None or needed <= 40:
        assert parse_number(exact_text(value)).value == value


@given(st.fractions(max_denominator=10**6), st.integers(0, 6))
def test_a_printed_number_is_at_most_half_a_digit_off(value: Fraction, decimals: int) -> None:
    printed = Fraction(format_number(value, decimals))
    assert abs(printed - value) <= Fraction(1, 2 * 10**decimals)


@given(st.fractions(min_value=-360, max_value=360, max_denominator=3600))
def test_degrees_minutes_seconds_are_right_to_a_millionth_of_a_second(value: Fraction) -> None:
    sign, text = (-1, arc_text(value)[1:]) if arc_text(value).startswith("-") else (1, arc_text(value))
    parts = [Fraction(part) for part in text.replace("°", "").replace("'", "").replace('"', "").split()]
    back = sign * sum((part / 60**power for power, part in enumerate(parts)), Fraction(0))
    assert abs(back - value) * 3600 <= Fraction(1, 2_000_000)


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [("1/20", 3, "0.050"), ("-1/1000", 2, "0.00"), ("11/8", 2, "1.38"), ("25/2", 0, "12"), ("-7", 1, "-7.0")],
)
def test_a_printed_number_keeps_its_decimals_and_is_never_minus_zero(
    value: str, decimals: int, text: str
) -> None:
    assert format_number(Fraction(value), decimals) == text


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [("127/2500", 3, "0.0508"), ("1/3", 1, "0.3333333"), ("1/1024", 2, "0.00097656"), ("2/1", 2, "2.00")],
)
def test_a_shown_number_is_exact_where_six_more_decimals_do_it(value: str, decimals: int, text: str) -> None:
    assert display_number(Fraction(value), decimals) == text


@pytest.mark.parametrize(
    ("value", "needed"), [("1/8", 3), ("1/20", 2), ("3", 0), ("1/3", None), ("7/640", 7), ("1/1250", 4)]
)
def test_the_decimals_a_fraction_needs(value: str, needed: int | None) -> None:
    assert decimals_needed(Fraction(value)) == needed


def test_white_space_and_minus_signs_become_one_kind() -> None:
    assert tidy("\u00a0−5\t mm\n") == "-5 mm"
