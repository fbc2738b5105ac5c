"""Probabilities: the normal distribution of a value, the range of a few readings, the ratio of two variances.

Binary floating-point numbers appear in the pure rooms here only (and in the search for a hull in
``geometry.form``). They are made from exact values, or turned into exact ones as they come.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from math import erfc, sqrt
from typing import NamedTuple

from traveler.measure.number import square_root

_DIGITS = 8
"""Decimals kept of an integral."""

_PRINTED = 4
"""Decimals of the factors in printed tables, and kept here, so that a form worked out by hand agrees."""


def conformance_probability(
    value: Fraction, u: Fraction, lower: Fraction | None, upper: Fraction | None
) -> float:
    """The probability, 0 to 1, that the true value lies within the bounds (JCGM 106:2012 clause 7).

    The value is taken as normal, with its standard uncertainty ``u`` (0 or more). None: no bound there.
    """
    low, high = _score(lower, value, u, "-inf"), _score(upper, value, u, "inf")
    if low > 0:  # both bounds above: the difference of two numbers near 1 would lose the small tail
        low, high = -high, -low
    return _below(high) - _below(low)


def _below(score: float) -> float:
    """The standard normal distribution function; ``erfc`` keeps the small tails exact."""
    return erfc(-score / sqrt(2)) / 2


def _score(bound: Fraction | None, value: Fraction, u: Fraction, otherwise: str) -> float:
    """Standard score of a bound; ``otherwise`` where there is none, infinity where it is too far to write."""
    if bound is None or (u == 0 and bound == value):
        return float(otherwise)
    try:
        return float((bound - value) / u)
    except (OverflowError, ZeroDivisionError):
        return float("inf" if bound > value else "-inf")


def probability_text(probability: float) -> str:
    """A probability with six decimals; never a full 1 or 0 for what is only nearly certain.

    >>> probability_text(0.8413447), probability_text(1 - 1e-9)
    ('0.841345', '0.999999')
    """
    if 0 < probability < 1:
        return f"{min(max(probability, 1e-6), 1 - 1e-6):.6f}"
    return "1" if probability >= 1 else "0"


class RangeMoments(NamedTuple):
    """Mean of the range of standard normal readings, and mean of its square."""

    mean: Fraction
    square: Fraction


@lru_cache(maxsize=256)
def range_moments(count: int) -> RangeMoments:
    """The moments of the range of ``count`` (2 or more) standard normal readings.

    From the density n (n − 1) ∫ φ(x) φ(x + w) (Φ(x + w) − Φ(x))ⁿ⁻² dx of the range w: trapezoids over x,
    which are exact to rounding for what dies off on both sides, Gauss and Legendre's rule over w.
    """
    import numpy as np
    from scipy.special import ndtr

    x, step = np.linspace(-9.0, 9.0, 601, retstep=True)
    nodes, weights = np.polynomial.legendre.leggauss(160)
    width = 8.0 * (nodes[:, None] + 1)
    both = np.exp(-(x**2 + (x + width) ** 2) / 2) / (2 * np.pi)
    density = count * (count - 1) * (both * (ndtr(x + width) - ndtr(x)) ** (count - 2)).sum(axis=1) * step
    means = [8.0 * float(weights @ (density * width[:, 0] ** power)) for power in (1, 2)]
    return RangeMoments(*(Fraction(f"{mean:.{_DIGITS}f}") for mean in means))


def spread_of_mean_range(count: int) -> Fraction:
    """1/d2: what turns a mean of many ranges into a standard deviation (K1 of a gauge study)."""
    return round(1 / range_moments(count).mean, _PRINTED)


def spread_of_one_range(count: int) -> Fraction:
    """1/d2* for one group: what turns a single range into a standard deviation (K2 and K3)."""
    return round(1 / square_root(range_moments(count).square), _PRINTED)


def highest_range(count: int) -> Fraction:
    """D4 = 1 + 3 d3/d2: times the mean range, the range above which something else has happened."""
    moments = range_moments(count)
    return 1 + 3 * square_root(moments.square - moments.mean**2) / moments.mean


def chance_of_ratio(ratio: Fraction, freedom: int, against: int) -> Fraction:
    """The probability of as large a ratio of two mean squares by chance alone (F distribution)."""
    from scipy.stats import f

    return Fraction(float(f.sf(float(ratio), freedom, against)))
