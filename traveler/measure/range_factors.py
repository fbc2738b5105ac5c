"""What the range of a few normal readings says of their spread: the factors of an average-and-range study.

Worked out from the distribution of the range instead of copied from a table. Source of the relation between
them: A. J. Duncan, Quality Control and Industrial Statistics, appendix on d2* (from memory); d2* for one
group is the root mean square of the range, d2*² = d2² + d3².
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from traveler.measure.roots import root

DIGITS = 8
"""Decimals kept of an integral."""

PRINTED = 4
"""Decimals of the factors in printed tables, and kept here, so that a form worked out by hand agrees."""


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
    return RangeMoments(*(Fraction(f"{one:.{DIGITS}f}") for one in means))


def spread_of_mean_range(count: int) -> Fraction:
    """1/d2: what turns a mean of many ranges into a standard deviation (K1 of a gauge study)."""
    return round(1 / range_moments(count).mean, PRINTED)


def spread_of_one_range(count: int) -> Fraction:
    """1/d2* for one group: what turns a single range into a standard deviation (K2 and K3)."""
    return round(1 / root(range_moments(count).square), PRINTED)


def highest_range(count: int) -> Fraction:
    """D4 = 1 + 3 d3/d2: times the mean range, the range above which something else has happened."""
    moments = range_moments(count)
    return 1 + 3 * root(moments.square - moments.mean**2) / moments.mean
