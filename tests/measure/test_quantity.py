"""Quantities: what is read, that what was written is kept, and exact conversion."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.number import Unreadable
from traveler.measure.quantity import Quantity, parse_quantity, same_dimension, split_unit


@pytest.mark.parametrize(
    ("text", "value", "unit", "decimals"),
    [
        ("0.050 mm", "1/20", "mm", 3),
        ("0,05mm", "1/20", "mm", 2),
        ("5e-2 mm", "1/20", "mm", 2),
        ("1 3/8 in", "11/8", "in", 3),
        ("1-3/8in", "11/8", "in", 3),
        (".002 in", "1/500", "in", 3),
        ("24 Nm", "24", "N·m", 0),
        ("-3.5 °C", "-7/2", "°C", 1),
        ("5 %", "5", "%", 0),
        ("10 1/min", "10", "rpm", 0),
        ("12°", "12", "deg", 0),
        ("12° 30'", "25/2", "deg", 1),
        ("12°30′15″", "3001/240", "deg", 6),
        ("-0° 0' 36\"", "-1/100", "deg", 2),
        ("0° 0' 0.36''", "1/10000", "deg", 4),
        ("72 dB(A)", "72", "dB(A)", 0),
        ("3 kg/m3", "3", "kg/m³", 0),
        ("1e3 mm", "1000", "mm", 0),
        ("5 eV", None, "UNT002", 0),
        ("5", None, "UNT001", 0),
        ("5.", None, "NUM001", 0),
        ("1 9/8 in", None, "NUM001", 0),
        ("1_0 mm", None, "NUM001", 0),
        ("1,250 mm", None, "NUM002", 0),
        ("½ in", None, "NUM001", 0),
        ("mm", None, "NUM001", 0),
        ("5 5 mm", None, "NUM001", 0),
        ("5-6 mm", None, "NUM001", 0),
        ("12° 60'", None, "NUM001", 0),
        ("12° 5' 60\"", None, "NUM001", 0),
        ('5"', None, "UNT004", 0),
        ("5 C", None, "UNT004", 0),
    ],
)
def test_a_quantity_is_read_exactly_or_refused(
    text: str, value: str | None, unit: str, decimals: int
) -> None:
    if value is None:
        with pytest.raises(Unreadable) as refusal:
            parse_quantity(text)
        assert refusal.value.code == unit
    else:
        assert parse_quantity(text) == Quantity(Fraction(value), unit, text, decimals)


def test_a_missing_unit_is_taken_from_where_it_is_printed_and_a_written_one_counts_more() -> None:
    assert parse_quantity("0.05", "mm").unit == "mm"
    assert parse_quantity("0.002 in", "mm").unit == "in"
    assert parse_quantity("30'", "deg").to("deg").value == Fraction(1, 2)
    assert parse_quantity('1/4"', "mm").to("mm").value == Fraction("6.35")


def test_conversion_is_exact_and_what_was_written_stays() -> None:
    converted = parse_quantity("0.002 in").to("mm")
    assert converted == Quantity(Fraction("0.0508"), "mm", "0.002 in", 3)
    assert str(converted) == "0.0508 mm"
    assert converted.to("inches").value == Fraction("0.002")


def test_a_difference_has_no_zero_of_its_own() -> None:
    two = parse_quantity("2 °C")
    assert two.difference_to("K").value == 2
    assert two.to("K").value == Fraction("275.15")


def test_a_quantity_of_another_dimension_is_refused_with_what_to_do() -> None:
    with pytest.raises(Unreadable) as refusal:
        parse_quantity("24 kg").to("N·m")
    assert refusal.value.code == "UNT003"
    assert "read again in N·m" in refusal.value.hint


def test_same_dimension_is_asked_by_name() -> None:
    assert same_dimension("in", "mm")
    assert not same_dimension("in", "N")


@given(st.fractions(max_denominator=10**6), st.sampled_from(["mm", "in", "µm", "ft", "mil", "m"]))
def test_there_and_back_is_the_same_quantity(value: Fraction, unit: str) -> None:
    quantity = Quantity(value, "mm", "", 3)
    assert quantity.to(unit).to("mm") == quantity


@given(st.integers(-(10**9), 10**9), st.integers(0, 6), st.sampled_from(["mm", "N·m", "°C", "deg", "%", "Ω"]))
def test_a_quantity_that_was_printed_reads_back_the_same(digits: int, decimals: int, unit: str) -> None:
    value = Fraction(digits, 10**decimals)
    read = parse_quantity(str(Quantity(value, unit, "", decimals)))
    assert (read.value, read.unit, read.decimals) == (value, unit, decimals)


def test_a_text_is_split_into_number_and_unit() -> None:
    assert split_unit("1 3/8 in") == ((Fraction(11, 8), 3), "in")
    assert split_unit("24") == ((Fraction(24), 0), "")
