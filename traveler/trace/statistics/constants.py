"""Factors of control charts, worked out from the normal distribution instead of copied from a table.

Sources: ASTM E2587 and ISO 7870-2 for the names and formulas. Printed tables round d2, d3 and c4 before
they form the other factors, so the last printed digit may differ from the ones here by one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from traveler.trace.statistics.exact import estimate
from traveler.trace.statistics.result import Result

LARGEST_SUBGROUP = 100


@dataclass(frozen=True)
class ChartConstants(Result):
    """The factors for subgroups of ``n`` readings.

    ``d2`` and ``d3``: mean and standard deviation of the range of n standard normal readings. ``c4``: mean
    of the standard deviation. ``a2``, ``a3``: limits of the mean from R̄ and s̄. ``d3_lower`` (D3) and
    ``d4_upper`` (D4): limits of R. ``b3_lower`` (B3) and ``b4_upper`` (B4): limits of s. ``e2``: limits of
    single readings from R̄.
    """

    n: int
    d2: Decimal
    d3: Decimal
    c4: Decimal
    a2: Decimal
    a3: Decimal
    d3_lower: Decimal
    d4_upper: Decimal
    b3_lower: Decimal
    b4_upper: Decimal
    e2: Decimal


def _range_moments(n: int) -> tuple[float, float]:
    """First and second moment of the range: f(w) = n(n−1) ∫ φ(x) φ(x+w) (Φ(x+w) − Φ(x))^(n−2) dx.

    The inner integral by the trapezoidal rule (exact to rounding for a function that dies off on both
    sides), the outer by Gauss-Legendre.
    """
    import numpy as np
    from scipy import special

    x, step = np.linspace(-9.0, 9.0, 721, retstep=True)
    nodes, weights = np.polynomial.legendre.leggauss(200)
    w = 8.0 * (nodes + 1.0)
    low, high = x[None, :], x[None, :] + w[:, None]
    between = special.ndtr(high) - special.ndtr(low)
    kernel = np.exp(-(low**2 + high**2) / 2) / (2 * math.pi) * between ** (n - 2)
    density = n * (n - 1) * kernel.sum(axis=1) * float(step)
    return float(8 * weights @ (density * w)), float(8 * weights @ (density * w**2))


@lru_cache(maxsize=LARGEST_SUBGROUP)
def chart_constants(n: int) -> ChartConstants:
    """The factors for subgroups of n readings, 2 ≤ n ≤ 100; worked out once per n.

    Raises:
        ValueError: n outside 2..100.

    >>> chart_constants(2).d2 == estimate(2 / math.sqrt(math.pi))
    True
    """
    if not 2 <= n <= LARGEST_SUBGROUP:
        msg = f"factors are known for subgroups of 2 to {LARGEST_SUBGROUP} readings, not {n}"
        raise ValueError(msg)
    d2, second = _range_moments(n)
    d3 = math.sqrt(second - d2 * d2)
    c4 = math.sqrt(2 / (n - 1)) * math.exp(math.lgamma(n / 2) - math.lgamma((n - 1) / 2))
    spread = 3 * math.sqrt(1 - c4 * c4) / c4
    return ChartConstants(
        n=n,
        d2=estimate(d2),
        d3=estimate(d3),
        c4=estimate(c4),
        a2=estimate(3 / (d2 * math.sqrt(n))),
        a3=estimate(3 / (c4 * math.sqrt(n))),
        d3_lower=estimate(max(0.0, 1 - 3 * d3 / d2)),
        d4_upper=estimate(1 + 3 * d3 / d2),
        b3_lower=estimate(max(0.0, 1 - spread)),
        b4_upper=estimate(1 + spread),
        e2=estimate(3 / d2),
    )


def _chi_relative_variance(dof: float) -> float:
    """Relative variance of a standard deviation with so many degrees of freedom: 1/c4² − 1."""
    c4 = math.sqrt(2 / dof) * math.exp(math.lgamma((dof + 1) / 2) - math.lgamma(dof / 2))
    return 1 / c4**2 - 1


@lru_cache(maxsize=1024)
def moving_range_dof(n: int) -> float:
    """Degrees of freedom of σ̂ = mean moving range / d2 from n readings, matched by relative spread.

    From the variance of |X₂ − X₁| and its covariance with the next one (two normal differences of
    correlation −½): E|U||V| = (2/π) σ² (√(1 − ρ²) + ρ asin ρ). One for two readings, about 0.605 (n − 1)
    for many.

    Raises:
        ValueError: fewer than two readings.
    """
    if n < 2:
        msg = "a moving range needs two readings"
        raise ValueError(msg)
    from scipy.optimize import brentq

    mean = 2 / math.sqrt(math.pi)
    rho = -0.5
    covariance = (2 / math.pi) * 2 * (math.sqrt(1 - rho**2) + rho * math.asin(rho)) - mean**2
    of_mean = ((n - 1) * (2 - mean**2) + 2 * (n - 2) * covariance) / (n - 1) ** 2
    wanted = of_mean / mean**2
    return float(brentq(lambda dof: _chi_relative_variance(dof) - wanted, 0.5, 2.0 * n))
