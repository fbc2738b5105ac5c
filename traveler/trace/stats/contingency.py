"""Two-by-two tables: Fisher's exact test, the odds ratio, and the correction for many comparisons."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from traveler.result import Result
from traveler.trace.stats.numbers import estimate
from traveler.trace.stats.proportion import CONFIDENCE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


def upper_probabilities(
    hits: Sequence[int], carriers: Sequence[int], complained: int, units: int
) -> list[float]:
    """P(at least so many complained units among the carriers) if complaints fell on units at random.

    Args:
        hits: complained units among the carriers of each factor.
        carriers: units that carry each factor.
        complained: complained units in all.
        units: units in all.

    Source: Fisher 1935, one-sided: the upper tail of the hypergeometric distribution. Equal tables are
    worked out once, so thousands of factors cost as much as a few hundred.
    """
    import numpy as np
    from scipy.stats import hypergeom

    tables = np.array([hits, carriers], dtype=np.int64)
    if tables.size == 0:
        return []
    different, back = np.unique(tables, axis=1, return_inverse=True)
    tails = hypergeom.sf(different[0] - 1, units, different[1], complained)
    tails = np.where(different[0] <= 0, 1.0, np.clip(tails, 0.0, 1.0))
    return [float(tail) for tail in tails[back.reshape(-1)]]


def smallest_attainable(carriers: Sequence[int], complained: int, units: int) -> list[float]:
    """The smallest probability the test could give each factor: if as many complaints as possible fell on it.

    It depends on the margins alone, so it may decide which factors to test without favouring any
    (Tarone 1990).
    """
    most = [min(carrier, complained) for carrier in carriers]
    return upper_probabilities(most, carriers, complained, units)


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

    low = Decimal(0) if hits == least else _solve(lambda guess: at_least(guess) - tail)
    high = None if hits == most else _solve(lambda guess: tail - at_most(guess))
    if hits in (least, most):
        return Odds(low if hits == least else None, low, high)
    return Odds(_solve(lambda guess: float(probabilities(guess) @ x) - hits), low, high)


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


_ONE = Decimal(1)


def holm(probabilities: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """Each probability adjusted so that even one false alarm among all stays as rare as wanted.

    Step down: the smallest times m, the next times m − 1, never falling, at most 1. In the order given.
    Source: Holm 1979. Holds whatever the dependence.

    >>> [str(p) for p in holm([Decimal("0.01"), Decimal("0.04"), Decimal("0.03")])]
    ['0.03', '0.06', '0.06']
    """
    order = sorted(range(len(probabilities)), key=lambda at: probabilities[at])
    adjusted = [_ONE] * len(order)
    highest = Decimal(0)
    for rank, at in enumerate(order):
        highest = max(highest, min(_ONE, probabilities[at] * (len(order) - rank)))
        adjusted[at] = highest
    return tuple(adjusted)


def benjamini_hochberg(probabilities: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """Each probability adjusted to the share of false alarms among all alarms (false discovery rate).

    Step up: the k-th smallest times m/k, never rising from the end. In the order given.
    Source: Benjamini and Hochberg 1995. Holds for independent or positively dependent comparisons.

    >>> [str(p) for p in benjamini_hochberg([Decimal("0.01"), Decimal("0.04"), Decimal("0.03")])]
    ['0.03', '0.04', '0.04']
    """
    order = sorted(range(len(probabilities)), key=lambda at: probabilities[at])
    adjusted = [_ONE] * len(order)
    lowest = _ONE
    for rank in range(len(order), 0, -1):
        at = order[rank - 1]
        lowest = min(lowest, probabilities[at] * len(order) / rank)
        adjusted[at] = lowest
    return tuple(adjusted)
