"""Square roots of exact numbers: exact where there is an exact root, else right to sixty digits.

Distances between exactly known points are roots of exact numbers. A flatness of exactly 0.012 mm must come
out as exactly 0.012 mm, or it could not be compared with a limit of 0.012 mm.
"""

from __future__ import annotations

from fractions import Fraction
from math import isqrt

DIGITS = 60
"""Significant digits kept of a root that has no exact value."""

PLACES = 30
"""Decimal places kept of a result that is not exact; far below anything that can be measured."""


def root(number: Fraction) -> Fraction:
    """The square root: exact if the number is the square of a fraction, else to ``DIGITS`` digits.

    >>> root(Fraction(9, 16))
    Fraction(3, 4)

    Raises:
        ValueError: the number is negative.
    """
    product = number.numerator * number.denominator
    whole = isqrt(product)
    if whole * whole == product:
        return Fraction(whole, number.denominator)
    scale = 10**DIGITS
    return Fraction(isqrt(product * scale * scale), number.denominator * scale)


def settled(number: Fraction, places: int = PLACES) -> Fraction:
    """The number rounded to ``places`` decimals: sheds the tail that a limited root left behind."""
    scale = 10**places
    return Fraction(round(number * scale), scale)


def length(squared: Fraction) -> Fraction:
    """The length whose square is given: exact where possible, else to ``PLACES`` decimals."""
    found = root(squared)
    return found if found * found == squared else settled(found)
