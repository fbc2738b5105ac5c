"""The odds ratio of a two-by-two table with its exact interval."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from traveler.trace.statistics.exact import estimate
from traveler.trace.statistics.proportion import CONFIDENCE
from traveler.trace.statistics.result import Result

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True)
class Odds(Result):
    """How many times as high the odds are with the factor as without; None is infinity."""

    ratio: Decimal | None
    low: Decimal
    high: Decimal | None


@lru_cache(maxsize=4096)
def odds(hits: int, carriers: int, complained: int, units: int, confidence: Fraction = CONFIDENCE) -> Odds:
    """The conditional maximum likelihood ratio and its exact interval.

    Args:
        hits: complained units that carry the factor.
        carriers: units that carry it.
        complained: complained units in all.
        units: units in all.
        confidence: of the two-sided interval.

    With all margins given, the hits follow the noncentral hypergeometric distribution, whose weights are
    C(carriers, x) C(units - carriers, complained - x) ratio**x. The estimate is the ratio under which the
    hits are what is expected; the ends are those under which so many (so few) hits have half the error
    probability. Sources: Fisher 1935; Cornfield 1956.
    """
    least, most = max(0, complained - (units - carriers)), min(carriers, complained)
    if least == most:
        return Odds(None, Decimal(0), None)
    x, weights = _weights(least, most, carriers, complained, units)
    tail = (1 - float(confidence)) / 2

    def probabilities(log_ratio: float) -> NDArray[np.float64]:
        from scipy.special import softmax

        return softmax(weights + x * log_ratio)

    def at_least(log_ratio: float) -> float:
        return float(probabilities(log_ratio)[hits - least :].sum())

    def at_most(log_ratio: float) -> float:
        return float(probabilities(log_ratio)[: hits - least + 1].sum())

    low = Decimal(0) if hits == least else _solve(lambda one: at_least(one) - tail)
    high = None if hits == most else _solve(lambda one: tail - at_most(one))
    if hits in (least, most):
        return Odds(low if hits == least else None, low, high)
    return Odds(_solve(lambda one: float(probabilities(one) @ x) - hits), low, high)


def _weights(
    least: int, most: int, carriers: int, complained: int, units: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The possible hits and the logarithms of their weights at even odds."""
    import numpy as np
    from scipy.special import gammaln

    def log_choose(n: int, k: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(gammaln(n + 1.0) - gammaln(k + 1) - gammaln(n - k + 1), dtype=np.float64)

    x = np.arange(least, most + 1, dtype=np.float64)
    return x, log_choose(carriers, x) + log_choose(units - carriers, complained - x)


def _solve(rising: Callable[[float], float]) -> Decimal:
    """The ratio at which the function of its logarithm passes zero."""
    from scipy.optimize import brentq

    return estimate(math.exp(float(brentq(rising, -60.0, 60.0, xtol=1e-12))))
