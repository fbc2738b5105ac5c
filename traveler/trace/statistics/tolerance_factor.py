"""Factors of statistical tolerance intervals for normal readings, exact (ISO 16269-6)."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from traveler.trace.statistics.distributions import (
    chi_square_quantile,
    noncentral_t_quantile,
    normal_quantile,
)
from traveler.trace.statistics.exact import estimate

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

COVERAGE = Fraction(95, 100)
CONFIDENCE = Fraction(95, 100)


@lru_cache(maxsize=4096)
def one_sided_factor(n: int, coverage: Fraction = COVERAGE, confidence: Fraction = CONFIDENCE) -> Decimal:
    """k₁ with x̄ + k₁ s above at least ``coverage`` of the distribution, exact (noncentral t).

    Source: ISO 16269-6, unknown mean and standard deviation, one-sided.

    Raises:
        ValueError: fewer than two readings, a coverage outside ½..1 or a confidence outside 0..1.
    """
    _check(n, coverage, confidence)
    shift = math.sqrt(n) * normal_quantile(float(coverage))
    return estimate(noncentral_t_quantile(float(confidence), n - 1, shift) / math.sqrt(n))


@lru_cache(maxsize=4096)
def two_sided_factor(n: int, coverage: Fraction = COVERAGE, confidence: Fraction = CONFIDENCE) -> Decimal:
    """k₂ with x̄ ± k₂ s holding at least ``coverage`` of the distribution, exact.

    Solves E over the mean Z of P(χ²₍ₙ₋₁₎ > (n−1) r(Z)²/k²) = confidence, where Φ(z + r) − Φ(z − r) =
    coverage; the approximation of :func:`howe_factor` only brackets the root. Source: ISO 16269-6, two-sided.

    Raises:
        ValueError: fewer than two readings, a coverage outside ½..1 or a confidence outside 0..1.
    """
    from scipy.optimize import brentq

    _check(n, coverage, confidence)
    reach, weights = _reach(n, float(coverage))

    def short_of(k: float) -> float:
        from scipy import special

        return float(weights @ special.chdtrc(n - 1, (n - 1) * (reach / k) ** 2)) - float(confidence)

    guess = float(howe_factor(n, coverage, confidence))
    return estimate(float(brentq(short_of, guess / 4, guess * 4, xtol=1e-13, rtol=1e-13)))


def howe_factor(n: int, coverage: Fraction = COVERAGE, confidence: Fraction = CONFIDENCE) -> Decimal:
    """Howe's approximation of k₂ (1969): within a few percent from three readings on."""
    _check(n, coverage, confidence)
    z = normal_quantile((1 + float(coverage)) / 2)
    chi = chi_square_quantile(1 - float(confidence), n - 1)
    return estimate(z * math.sqrt((n - 1) * (1 + 1 / n) / chi))


def _reach(n: int, coverage: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """r(z) at the nodes of the mean's distribution (of the positive half), and the nodes' weights."""
    import numpy as np
    from scipy import special

    nodes, weights = np.polynomial.legendre.leggauss(120)
    z = (nodes + 1) * 4.25 / math.sqrt(n)
    density = math.sqrt(2 * n / math.pi) * np.exp(-n * z**2 / 2)
    r = z + normal_quantile(coverage)
    for _ in range(60):
        gap = special.ndtr(z + r) - special.ndtr(z - r) - coverage
        slope = (np.exp(-((z + r) ** 2) / 2) + np.exp(-((z - r) ** 2) / 2)) / math.sqrt(2 * math.pi)
        r = r - gap / slope
        if np.abs(gap).max() < 1e-15:
            break
    mass = weights * density * 4.25 / math.sqrt(n)
    return r, mass / mass.sum()


def _check(n: int, coverage: Fraction, confidence: Fraction) -> None:
    if n < 2 or not (Fraction(1, 2) <= coverage < 1 and 0 < confidence < 1):
        msg = f"no tolerance factor for n = {n}, coverage {coverage}, confidence {confidence}"
        raise ValueError(msg)
