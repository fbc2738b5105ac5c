"""Points with exact coordinates, and the little vector arithmetic that geometry needs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import gcd, lcm

Point = tuple[Fraction, Fraction, Fraction]
"""x and y in plan, z the height; all three in one unit."""

Whole = tuple[int, int, int]
"""A point or direction in whole multiples of some fine step: fast, and still exact."""


def point(x: Fraction | int | str, y: Fraction | int | str, z: Fraction | int | str) -> Point:
    """A point from numbers or their text.

    >>> point("0.5", 0, 2)
    (Fraction(1, 2), Fraction(0, 1), Fraction(2, 1))
    """
    return (Fraction(x), Fraction(y), Fraction(z))


def whole_steps(points: Sequence[Point]) -> tuple[list[Whole], int]:
    """The points as whole numbers, in their order, and how many steps make one unit."""
    steps = lcm(*(value.denominator for one in points for value in one))
    return [(int(x * steps), int(y * steps), int(z * steps)) for x, y, z in points], steps


def minus(a: Whole, b: Whole) -> Whole:
    """The way from ``b`` to ``a``."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def dot(a: Sequence[int], b: Sequence[int]) -> int:
    """The scalar product, of any length."""
    return sum(x * y for x, y in zip(a, b, strict=True))


def cross(a: Whole, b: Whole) -> Whole:
    """The vector product: at right angles to both, zero if they are parallel."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def reduced(direction: Whole) -> Whole:
    """The same line of direction in smallest whole numbers, the last part that is not zero positive."""
    size = gcd(*direction) or 1
    sign = next((1 if part > 0 else -1 for part in reversed(direction) if part), 1)
    return (sign * direction[0] // size, sign * direction[1] // size, sign * direction[2] // size)


def extent_squared(points: Iterable[Whole], direction: Whole) -> Fraction:
    """The square of how far the points reach along a direction that is not zero, in steps."""
    along = [dot(one, direction) for one in points]
    return Fraction((max(along) - min(along)) ** 2, dot(direction, direction))
