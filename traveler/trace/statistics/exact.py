"""Exact numbers in, estimates out: where readings become fractions and where floating results leave.

Readings come as text, ``Decimal``, ``Fraction`` or ``int`` and are summed exactly. What numpy and scipy
work out from them leaves as a ``Decimal`` of twelve significant digits, so no binary float is ever
compared or printed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from decimal import ROUND_HALF_EVEN, Context, Decimal, localcontext
from fractions import Fraction

Number = Fraction | Decimal | int | str
"""What a reading may come as; a binary float has lost its digits and is refused."""

DIGITS = 12
"""Significant digits an estimate is kept to: beyond any reading, short of double precision's noise."""


def exact(value: Number) -> Fraction:
    """The number as an exact fraction.

    Raises:
        TypeError: ``value`` is a binary float (or anything else that is no number).
        ValueError: text that is no finite number.

    >>> exact("0.041"), exact("5e-2"), exact("1/8")
    (Fraction(41, 1000), Fraction(1, 20), Fraction(1, 8))
    """
    if type(value) is Fraction:  # most readings are: worth the short way
        return value
    if isinstance(value, bool) or not isinstance(value, Fraction | Decimal | int | str):
        msg = f"a reading is text, a Decimal, a Fraction or an int, not {type(value).__name__}"
        raise TypeError(msg)
    try:
        return Fraction(value)
    except (ValueError, OverflowError, ZeroDivisionError) as problem:
        msg = f"{value!r} is no finite number"
        raise ValueError(msg) from problem


def exact_all(values: Iterable[Number]) -> tuple[Fraction, ...]:
    """Every number as an exact fraction, in order."""
    return tuple(exact(value) for value in values)


def scaled(values: Sequence[Fraction]) -> tuple[list[int], int]:
    """The fractions as whole numbers over one common denominator: ``(numerators, denominator)``."""
    scale = math.lcm(*(value.denominator for value in values)) if values else 1
    return [value.numerator * (scale // value.denominator) for value in values], scale


def ordered(values: Sequence[Fraction]) -> tuple[Fraction, ...]:
    """The fractions in rising order; compared as whole numbers, which is much quicker."""
    whole, _ = scaled(values)
    return tuple(values[at] for at in sorted(range(len(values)), key=whole.__getitem__))


def root(value: Fraction, digits: int = 34) -> Decimal:
    """The square root to that many significant digits (rounded once from a longer one)."""
    with localcontext(Context(prec=digits + 10, rounding=ROUND_HALF_EVEN)):
        long = (Decimal(value.numerator) / Decimal(value.denominator)).sqrt()
    return Context(prec=digits, rounding=ROUND_HALF_EVEN).plus(long)


def rounded(value: Fraction | Decimal, digits: int = DIGITS) -> Decimal:
    """The number to that many significant digits."""
    with localcontext(Context(prec=digits, rounding=ROUND_HALF_EVEN)):
        if isinstance(value, Fraction):
            return Decimal(value.numerator) / Decimal(value.denominator)
        return +value


def estimate(value: float) -> Decimal:
    """A floating result as a ``Decimal`` of twelve significant digits.

    Raises:
        ValueError: the result is not finite (a defect of the caller, who has to rule that out).
    """
    if not math.isfinite(value):
        msg = f"{value} is no finite result"
        raise ValueError(msg)
    return Context(prec=DIGITS, rounding=ROUND_HALF_EVEN).create_decimal(repr(float(value)))


def finite(value: float) -> Decimal | None:
    """:func:`estimate`, or None where the result is infinite or undefined."""
    return estimate(value) if math.isfinite(value) else None
