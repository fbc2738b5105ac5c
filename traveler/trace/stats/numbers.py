"""Exact numbers in, estimates out: readings as fractions, results as text, and the distributions."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from decimal import ROUND_HALF_EVEN, Context, Decimal, localcontext
from fractions import Fraction

from traveler.result import number_text

Number = Fraction | Decimal | int | str
"""What a reading may come as; a binary float has lost its digits and is refused."""

DIGITS = 12
"""Significant digits an estimate is kept to: beyond any reading, short of double precision's noise."""


def exact(value: Number) -> Fraction:
    """The number as an exact fraction.

    Raises:
        TypeError: ``value`` is a binary float (or anything else that is not a number).
        ValueError: text that is not a finite number.

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
        msg = f"{value!r} is not a finite number"
        raise ValueError(msg) from problem


def exact_all(values: Iterable[Number]) -> tuple[Fraction, ...]:
    """Every number as an exact fraction, in order."""
    return tuple(exact(value) for value in values)


def scaled(values: Sequence[Fraction]) -> tuple[list[int], int]:
    """The fractions as whole numbers over one common denominator: ``(numerators, denominator)``."""
    scale = math.lcm(*(value.denominator for value in values)) if values else 1
    return [value.numerator * (scale // value.denominator) for value in values], scale


def sorted_exactly(values: Sequence[Fraction]) -> tuple[Fraction, ...]:
    """The fractions in rising order; compared as whole numbers, which is much quicker."""
    whole, _ = scaled(values)
    return tuple(values[at] for at in sorted(range(len(values)), key=whole.__getitem__))


def exact_root(value: Fraction, digits: int = 34) -> Decimal:
    """The square root to that many significant digits (rounded once from a longer one)."""
    with localcontext(Context(prec=digits + 10, rounding=ROUND_HALF_EVEN)):
        long = (Decimal(value.numerator) / Decimal(value.denominator)).sqrt()
    return Context(prec=digits, rounding=ROUND_HALF_EVEN).plus(long)


def to_digits(value: Fraction | Decimal, digits: int = DIGITS) -> Decimal:
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
        msg = f"{value} is not a finite result"
        raise ValueError(msg)
    return Context(prec=DIGITS, rounding=ROUND_HALF_EVEN).create_decimal(repr(float(value)))


def short(value: Fraction | Decimal, digits: int = 3) -> str:
    """The number to so many significant digits, as a person would say it.

    >>> short(Fraction(2, 3)), short(Decimal("1234.5"), 4), short(Decimal(0))
    ('0.667', '1234', '0')
    """
    return number_text(to_digits(value, digits))


def chance(value: Decimal) -> str:
    """A probability in words that do not pretend: ``p = 0.03``, ``p < 0.001``."""
    return "p < 0.001" if value < Decimal("0.001") else f"p = {short(value, 2)}"


def percent(share: Fraction | Decimal) -> str:
    """A share in percent; more digits only near none and near all.

    >>> percent(Fraction(1, 2)), percent(Fraction(2, 3000)), percent(Decimal("0.9987"))
    ('50 %', '0.067 %', '99.87 %')
    """
    hundred = Fraction(share) * 100
    if hundred in (0, 100) or 2 <= hundred <= 98:
        return f"{short(hundred, 3 if hundred != int(hundred) else 4)} %"
    if hundred > 98:
        return f"{number_text(100 - to_digits(100 - hundred, 2))} %"
    return f"{short(hundred, 2)} %"


def normal_quantile(p: float) -> float:
    """Z with Φ(z) = p."""
    from scipy import special

    return float(special.ndtri(p))


def normal_upper(z: float) -> float:
    """1 − Φ(z), without loss far out."""
    from scipy import special

    return float(special.ndtr(-z))


def chi_square_quantile(p: float, dof: float) -> float:
    """The p-quantile of χ² with ``dof`` degrees of freedom (need not be whole)."""
    from scipy import special

    return float(special.chdtri(dof, 1 - p))


def student_two_sided(t: float, dof: float) -> float:
    """P(|T| > |t|) for Student's t."""
    from scipy import special

    return float(2 * special.stdtr(dof, -abs(t)))


def f_upper(value: float, between: float, within: float) -> float:
    """P(F > value) with those degrees of freedom."""
    from scipy import special

    return float(special.fdtrc(between, within, value))


def beta_quantile(p: float, a: float, b: float) -> float:
    """The p-quantile of the beta distribution."""
    from scipy import special

    return float(special.betaincinv(a, b, p))


def noncentral_t_quantile(p: float, dof: float, shift: float) -> float:
    """The p-quantile of the noncentral t distribution with noncentrality ``shift``."""
    from scipy.stats import nct

    return float(nct.ppf(p, dof, shift))


def binomial_lower(successes: int, trials: int, p: float) -> float:
    """P(at most that many successes)."""
    from scipy import special

    return float(special.bdtr(successes, trials, p))


def binomial_two_sided(successes: int, trials: int) -> float:
    """Exact two-sided probability of a split at least this uneven, both sides being equally likely."""
    if trials == 0:
        return 1.0
    fewer = min(successes, trials - successes)
    return min(1.0, 2 * binomial_lower(fewer, trials, 0.5))
