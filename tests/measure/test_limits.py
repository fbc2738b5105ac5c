"""Limits as people write them: every form, every refusal, and that what is printed reads back the same."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.limits import parse_limits
from traveler.measure.number import Unreadable

# text: lower, upper, nominal, unit, decimals, as printed
READ = {
    "24 N·m ± 1.5": ("22.5", "25.5", "24", "N·m", 1, "22.5 to 25.5 N·m"),
    "24 ± 1.5 N·m": ("22.5", "25.5", "24", "N·m", 1, "22.5 to 25.5 N·m"),
    "24.0 Nm ± 1.5 Nm": ("22.5", "25.5", "24", "N·m", 1, "22.5 to 25.5 N·m"),
    "24 +/- 1 mm": ("23", "25", "24", "mm", 0, "23 to 25 mm"),
    "24 +- 1 mm": ("23", "25", "24", "mm", 0, "23 to 25 mm"),
    "24.0 ± 1 mm": ("23", "25", "24", "mm", 1, "23.0 to 25.0 mm"),
    "24 +2/-1 N·m": ("23", "26", "24", "N·m", 0, "23 to 26 N·m"),
    "24 N·m +2/-1": ("23", "26", "24", "N·m", 0, "23 to 26 N·m"),
    "24 N·m -1/+2": ("23", "26", "24", "N·m", 0, "23 to 26 N·m"),
    "24 mm + 0.1 / - 0.05": ("23.95", "24.1", "24", "mm", 2, "23.95 to 24.10 mm"),
    "24 +0/-0.1 mm": ("23.9", "24", "24", "mm", 1, "23.9 to 24.0 mm"),
    "24 0/-0.1 mm": ("23.9", "24", "24", "mm", 1, "23.9 to 24.0 mm"),
    "24 -0.02/-0.04 mm": ("23.96", "23.98", "24", "mm", 2, "23.96 to 23.98 mm"),
    "24 +0,5/-0,2 mm": ("23.8", "24.5", "24", "mm", 1, "23.8 to 24.5 mm"),
    "24 +0.5 mm/-0.2 mm": ("23.8", "24.5", "24", "mm", 1, "23.8 to 24.5 mm"),
    "24.5 -0.5/-1e-3 mm": ("24", "24.499", "24.5", "mm", 3, "24.000 to 24.499 mm"),
    "-5 +1/-1 mm": ("-6", "-4", "-5", "mm", 0, "-6 to -4 mm"),
    "10 to 12 mm": ("10", "12", None, "mm", 0, "10 to 12 mm"),
    "10 mm to 12 mm": ("10", "12", None, "mm", 0, "10 to 12 mm"),
    "10 mm to 1.2 cm": ("10", "12", None, "mm", 1, "10.0 to 12.0 mm"),
    "-5 to 5 µm": ("-5", "5", None, "µm", 0, "-5 to 5 µm"),
    "min 8 N": ("8", None, None, "N", 0, "min 8 N"),
    "Min. 8 N": ("8", None, None, "N", 0, "min 8 N"),
    "8 N min": ("8", None, None, "N", 0, "min 8 N"),
    "≥ 8 N": ("8", None, None, "N", 0, "min 8 N"),
    ">= 8 N": ("8", None, None, "N", 0, "min 8 N"),
    "max 0.05 mm": (None, "0.05", None, "mm", 2, "max 0.05 mm"),
    "max. 0.050 mm": (None, "0.05", None, "mm", 3, "max 0.050 mm"),
    "0.05 mm max": (None, "0.05", None, "mm", 2, "max 0.05 mm"),
    "≤0.05 mm": (None, "0.05", None, "mm", 2, "max 0.05 mm"),
    "<= 0,05 mm": (None, "0.05", None, "mm", 2, "max 0.05 mm"),
    "max 5e-2 mm": (None, "0.05", None, "mm", 2, "max 0.05 mm"),
    "max 0 mm": (None, "0", None, "mm", 0, "max 0 mm"),
    "min 8 min": ("8", None, None, "min", 0, "min 8 min"),
    "max 72 dB(A)": (None, "72", None, "dB(A)", 0, "max 72 dB(A)"),
    "90 ± 0.5 deg": ("89.5", "90.5", "90", "deg", 1, "89.5 to 90.5 deg"),
    "90° ± 0.5°": ("89.5", "90.5", "90", "deg", 1, "89.5 to 90.5 deg"),
    "45° ± 30'": ("44.5", "45.5", "45", "deg", 0, "44.5 to 45.5 deg"),
    "45° ± 0° 30'": ("44.5", "45.5", "45", "deg", 1, "44.5 to 45.5 deg"),
    "12° 30' ± 10'": ("37/3", "38/3", "12.5", "deg", 1, "12° 20' to 12° 40'"),
    "30° 15' +10'/-5'": ("181/6", "365/12", "30.25", "deg", 2, "30° 10' to 30° 25'"),
    "1/4 ± 1/64 in": ("15/64", "17/64", "1/4", "in", 6, "15/64 to 17/64 in"),
    "1 1/4 ± 1/64 in": ("79/64", "81/64", "5/4", "in", 6, "1 15/64 to 1 17/64 in"),
    "1 in +1/64/-1/32": ("31/32", "65/64", "1", "in", 6, "31/32 to 1 1/64 in"),
    "0 in ± 1/64": ("-1/64", "1/64", "0", "in", 6, "-1/64 to 1/64 in"),
    "1/4 in ± 5 mil": ("0.245", "0.255", "1/4", "in", 2, "0.245 to 0.255 in"),
    'max 1/8 in': (None, "1/8", None, "in", 3, "max 1/8 in"),
    '2 in ± 1/16"': ("31/16", "33/16", "2", "in", 4, "1 15/16 to 2 1/16 in"),
    "20 °C ± 2 °C": ("18", "22", "20", "°C", 0, "18 to 22 °C"),
    "20 ± 2 °C": ("18", "22", "20", "°C", 0, "18 to 22 °C"),
    "20 °C ± 2 K": ("18", "22", "20", "°C", 0, "18 to 22 °C"),
    "68 °F ± 2 K": ("64.4", "71.6", "68", "°F", 0, "64.4 to 71.6 °F"),
    "24 N·m ± 5 %": ("22.8", "25.2", "24", "N·m", 1, "22.8 to 25.2 N·m"),
    "24 N·m +5/-10 %": ("21.6", "25.2", "24", "N·m", 1, "21.6 to 25.2 N·m"),
    "50 ± 5 %": ("45", "55", "50", "%", 0, "45 to 55 %"),
    "5 mm/m +1/-1": ("4", "6", "5", "mm/m", 0, "4 to 6 mm/m"),
    "5 +1/-1 mm/m": ("4", "6", "5", "mm/m", 0, "4 to 6 mm/m"),
    "1 +1/64/-1/32 in": ("31/32", "65/64", "1", "in", 6, "31/32 to 1 1/64 in"),
    "0.5 ± 0.1 mm/m": ("0.4", "0.6", "0.5", "mm/m", 1, "0.4 to 0.6 mm/m"),
    "⌀25 ± 0.1 mm": ("24.9", "25.1", "25", "mm", 1, "24.9 to 25.1 mm"),
}  # fmt: skip
REFUSED = {
    "24 ± 1.5": ("LIM001", "'24 ± 1.5 mm'"),
    "max 0.05": ("LIM001", "'max 0.05 mm'"),
    "10 to 12": ("LIM001", "mm"),
    "24 +2/-1": ("LIM001", "mm"),
    "12 to 10 mm": ("LIM002", "'10 to 12 mm'"),
    "1 in to 20 mm": ("LIM002", "in"),
    "10 to 10 mm": ("LIM004", "tolerance"),
    "24 ± 0 mm": ("LIM004", "tolerance"),
    "24 +0/-0 mm": ("LIM004", "tolerance"),
    "0 mm ± 5 %": ("LIM004", "tolerance"),
    "max -300 °C": ("LIM004", "sign"),
    "max -500 °F": ("LIM004", "sign"),
    "": ("LIM003", "write it like"),
    "±": ("LIM003", "write it like"),
    "to": ("LIM003", "write it like"),
    "max": ("LIM003", "write it like"),
    "24": ("LIM003", "write it like"),
    "24 N·m": ("LIM003", "write it like"),
    "24 ± -1 mm": ("LIM003", "write it like"),
    "24 ± 1 ± 2 mm": ("LIM003", "write it like"),
    "24 +2 mm": ("LIM003", "write it like"),
    "24 mm/m": ("LIM003", "write it like"),
    "+2/-1": ("LIM003", "write it like"),
    "± 1": ("LIM003", "write it like"),
    "24 ± x": ("LIM003", "write it like"),
    "24 2/1 mm": ("LIM003", "write it like"),
    "24 0/0 mm": ("LIM003", "+2/-1"),
    "1 to 2 to 3 mm": ("LIM003", "write it like"),
    "10-12 mm": ("LIM003", "'10 to 12 mm'"),
    "10–12 mm": ("LIM003", "'10 to 12 mm'"),
    "< 8 N": ("LIM003", "max or min"),
    "25 H7/g6": ("LIM003", "'25 H7'"),
    "25 mm2": ("LIM003", "write it like"),
    "expected ± 0.4 kg": ("LIM006", "mass"),
    "max 1,250 mm": ("NUM002", "1.250"),
    "max 5 foo": ("UNT002", ""),
    "24 mm ± 1 kg": ("UNT003", "mm"),
    "10 kg to 12 mm": ("UNT003", "kg"),
    "45 ± 30'": ("UNT004", "arcmin"),
    "x" * 201: ("NUM003", "shorten"),
}


def exact(text: str | None) -> Fraction | None:
    return None if text is None else Fraction(text)


@pytest.mark.parametrize("text", READ)
def test_limits_are_read_exactly_and_print_as_written(text: str) -> None:
    lower, upper, nominal, unit, decimals, printed = READ[text]
    limits = parse_limits(text)
    assert (limits.lower, limits.upper, limits.nominal) == (exact(lower), exact(upper), exact(nominal))
    assert (limits.unit, limits.decimals, limits.text, limits.source) == (unit, decimals, text, "as written")
    assert limits.describe() == printed


@pytest.mark.parametrize("text", READ)
def test_printed_limits_read_back_the_same(text: str) -> None:
    limits = parse_limits(text)
    again = parse_limits(limits.describe())
    assert (again.lower, again.upper, again.unit) == (limits.lower, limits.upper, limits.unit)


@pytest.mark.parametrize("text", REFUSED)
def test_what_are_no_limits_is_refused_with_a_code_and_what_to_do(text: str) -> None:
    code, hint = REFUSED[text]
    with pytest.raises(Unreadable) as refusal:
        parse_limits(text)
    assert refusal.value.code == code
    assert hint in refusal.value.hint


@given(
    st.integers(-(10**6), 10**6),
    st.integers(1, 10**4),
    st.integers(0, 4),
    st.sampled_from(["mm", "N·m", "deg", "kg", "%", "°C"]),
)
def test_a_symmetrical_tolerance_lies_evenly_about_its_nominal(
    nominal: int, tolerance: int, decimals: int, unit: str
) -> None:
    scale = 10**decimals
    text = f"{Fraction(nominal, scale)} {unit} ± {Fraction(tolerance, scale)}"
    if unit == "°C" and Fraction(nominal + tolerance, scale) < Fraction("-273.15"):
        return
    limits = parse_limits(text)
    assert limits.lower == Fraction(nominal - tolerance, scale)
    assert limits.upper == Fraction(nominal + tolerance, scale)
    assert limits.width == 2 * Fraction(tolerance, scale)


@given(st.integers(-(10**6), 10**6), st.integers(-(10**6), 10**6), st.integers(0, 4))
def test_a_range_is_read_or_refused_as_inverted_or_without_width(low: int, high: int, decimals: int) -> None:
    first, two = (f"{number}e-{decimals}" for number in (low, high))
    if low < high:
        limits = parse_limits(f"{first} to {two} mm")
        assert (limits.lower, limits.upper) == (Fraction(low, 10**decimals), Fraction(high, 10**decimals))
    else:
        with pytest.raises(Unreadable) as refusal:
            parse_limits(f"{first} to {two} mm")
        assert refusal.value.code == ("LIM004" if low == high else "LIM002")
