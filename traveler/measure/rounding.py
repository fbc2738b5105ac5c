"""Rounding, and the two ways of comparing an observed value with a limit (ASTM E29).

Ties go to the even digit (ISO 80000-1:2009 Annex B, rule A; ASTM E29-13 clause 6.4).
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor
from typing import Literal

from traveler.measure.unreadable import Unreadable

Method = Literal["absolute", "rounding"]
"""``absolute``: the observed value counts with all its digits (E29 clause 5). ``rounding``: it is first
rounded to the last digit written in the limit (E29 clause 6), so ``max 4 mm`` and ``max 4.0 mm`` differ."""


def round_to(value: Fraction, step: Fraction) -> Fraction:
    """The multiple of ``step`` nearest to the value; of two, the even one.

    >>> round_to(Fraction("12.25"), Fraction("0.1"))
    Fraction(61, 5)

    Raises:
        Unreadable: NUM004, the step is not above 0.
    """
    if step <= 0:
        raise Unreadable("NUM004", f"cannot round to steps of {step}", "give a step above 0")
    return round(value / step) * step


def to_decimals(value: Fraction, decimals: int) -> Fraction:
    """The value rounded to this many decimals, ties to the even digit."""
    return Fraction(round(value * 10**decimals), 10**decimals)


def inward(
    lower: Fraction | None, upper: Fraction | None, decimals: int
) -> tuple[Fraction | None, Fraction | None]:
    """The bounds rounded to this many decimals so that they never admit more: lower up, upper down."""
    scale = 10**decimals
    return (
        None if lower is None else Fraction(ceil(lower * scale), scale),
        None if upper is None else Fraction(floor(upper * scale), scale),
    )


def compared(value: Fraction, decimals: int, method: Method) -> Fraction:
    """The value that is compared with a limit written with this many decimals, by either method."""
    return value if method == "absolute" else to_decimals(value, decimals)
