"""Limits that name a standard, as text."""

from __future__ import annotations

from fractions import Fraction

import pytest

from traveler.measure.limits import parse_limits
from traveler.measure.number import Unreadable
from traveler.measure.quantity import convert

READ = {
    "25 H7": ("25.000 to 25.021 mm", 3, "ISO 286-2 H7"),
    "25H7": ("25.000 to 25.021 mm", 3, "ISO 286-2 H7"),
    "⌀25 H7": ("25.000 to 25.021 mm", 3, "ISO 286-2 H7"),
    "Ø 25 mm H7": ("25.000 to 25.021 mm", 3, "ISO 286-2 H7"),
    "25 mm g6": ("24.980 to 24.993 mm", 3, "ISO 286-2 g6"),
    "25 h7": ("24.979 to 25.000 mm", 3, "ISO 286-2 h7"),
    "25 js6": ("24.9935 to 25.0065 mm", 4, "ISO 286-2 js6"),
    "25 m6": ("25.008 to 25.021 mm", 3, "ISO 286-2 m6"),
    "2.5 cm H7": ("2.5000 to 2.5021 cm", 4, "ISO 286-2 H7"),
    "1 in H7": ("1.000000 to 1.000826 in", 6, "ISO 286-2 H7"),
    "120 mm ISO 2768-m": ("119.7 to 120.3 mm", 1, "ISO 2768-1 m, linear"),
    "120 ISO 2768-mK": ("119.7 to 120.3 mm", 1, "ISO 2768-1 m, linear"),
    "120.00 mm ISO 2768-1 m": ("119.70 to 120.30 mm", 2, "ISO 2768-1 m, linear"),
    "120 mm ISO2768-f": ("119.85 to 120.15 mm", 2, "ISO 2768-1 f, linear"),
    "R5 ISO 2768-m": ("4.5 to 5.5 mm", 1, "ISO 2768-1 m, radius or chamfer"),
    "radius 5 mm ISO 2768-c": ("4 to 6 mm", 0, "ISO 2768-1 c, radius or chamfer"),
    "chamfer 2 mm ISO 2768-c": ("1.6 to 2.4 mm", 1, "ISO 2768-1 c, radius or chamfer"),
    "90 deg ISO 2768-m leg 50 mm": ("89.5 to 90.5 deg", 1, "ISO 2768-1 m, angle"),
    "90° ISO 2768-m, shorter leg 51": ("89° 40' to 90° 20'", 0, "ISO 2768-1 m, angle"),
    "90 deg ISO 2768-m leg 2 in": ("89° 40' to 90° 20'", 0, "ISO 2768-1 m, angle"),
    "5 in ISO 2768-m": ("4.980315 to 5.019685 in", 6, "ISO 2768-1 m, linear"),
}
REFUSED = {
    "500.5 H7": "LIM005",
    "0 H7": "LIM005",
    "25 u6": "LIM005",
    "25 kg H7": "UNT003",
    "25 foo H7": "UNT002",
    "1,250 H7": "NUM002",
    "0.4 mm ISO 2768-m": "LIM005",
    "120 mm ISO 2768-x": "LIM003",
    "120 mm ISO 2768": "LIM003",
    "ISO 2768-m": "LIM003",
    "90 deg ISO 2768-m": "LIM003",
    "120 kg ISO 2768-m": "UNT003",
    "90 deg ISO 2768-m leg 3 kg": "UNT003",
}


@pytest.mark.parametrize("text", READ)
def test_limits_of_a_standard_are_worked_out_and_say_where_they_come_from(text: str) -> None:
    limits = parse_limits(text)
    assert (limits.describe(), limits.decimals, limits.source) == READ[text]
    assert limits.text == text
    assert limits.nominal is not None


@pytest.mark.parametrize("text", REFUSED)
def test_what_a_standard_does_not_give_is_refused(text: str) -> None:
    with pytest.raises(Unreadable) as refusal:
        parse_limits(text)
    assert refusal.value.code == REFUSED[text]


@pytest.mark.parametrize("text", ["1 in H7", "3 in g6", "5 in ISO 2768-m", "90° ISO 2768-m leg 60"])
def test_limits_in_another_unit_never_admit_more_than_the_standard(text: str) -> None:
    inches = parse_limits(text)
    assert inches.lower is not None
    assert inches.upper is not None
    low, high = {
        "1 in H7": (0, Fraction("0.021")),
        "3 in g6": (Fraction("-0.029"), Fraction("-0.010")),
        "5 in ISO 2768-m": (Fraction("-0.5"), Fraction("0.5")),
        "90° ISO 2768-m leg 60": (Fraction(-1, 3), Fraction(1, 3)),
    }[text]
    unit = "deg" if "°" in text else "mm"
    nominal = convert(inches.nominal or Fraction(0), inches.unit, unit)
    assert nominal + low <= convert(inches.lower, inches.unit, unit) < nominal + low + Fraction(1, 10_000)
    assert nominal + high - Fraction(1, 10_000) < convert(inches.upper, inches.unit, unit) <= nominal + high
