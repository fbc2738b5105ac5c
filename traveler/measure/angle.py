"""Angles from slopes, without binary floats: the arc tangent of an exact number, in degrees."""

from __future__ import annotations

from fractions import Fraction

from traveler.measure.roots import root, settled
from traveler.measure.shop_units import PI

_HALVINGS = 8


def angle_of_slope(slope: Fraction) -> Fraction:
    """The angle in degrees whose tangent is given, right to 30 decimals.

    The argument is made small by halving the angle (tan φ/2 = tan φ / (1 + √(1 + tan² φ))), then Gregory's
    series converges by more than four digits a term.

    >>> angle_of_slope(Fraction(1))
    Fraction(45, 1)
    """
    small = slope
    for _ in range(_HALVINGS):
        small = settled(small / (1 + root(1 + small * small)), 60)
    square, power, total = small * small, small, Fraction(0)
    for odd in range(1, 41, 2):
        total += power / odd if odd % 4 == 1 else -power / odd
        power = settled(power * square, 80)
    return settled(total * 2**_HALVINGS * 180 / PI)


def angle_of_sine(sine: Fraction) -> Fraction:
    """The angle in degrees, within ±90, whose sine is given (within ±1)."""
    rest = root(1 - sine * sine)
    if rest == 0:
        return Fraction(90 if sine > 0 else -90)
    return angle_of_slope(sine / rest)
