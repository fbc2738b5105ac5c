"""A share of units with its interval."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from traveler.trace.statistics.distributions import beta_quantile, normal_quantile
from traveler.trace.statistics.exact import estimate
from traveler.trace.statistics.result import Result
from traveler.trace.statistics.wording import percent

CONFIDENCE = Fraction(95, 100)


@dataclass(frozen=True)
class Proportion(Result):
    """``hits`` of ``n``; ``share`` is None without any. Two intervals at the same confidence.

    ``wilson``: the score interval, close to its confidence on average. ``exact``: Clopper-Pearson, never
    below it.
    """

    hits: int
    n: int
    confidence: Fraction
    share: Fraction | None
    wilson: tuple[Decimal, Decimal]
    exact: tuple[Decimal, Decimal]

    @property
    def sentence(self) -> str:
        """``18 of 20 = 90 % (95 % interval 69.9 % to 97.2 %)``."""
        if self.share is None:
            return "none of none"
        low, high = self.wilson
        return (
            f"{self.hits} of {self.n} = {percent(self.share)} "
            f"({percent(self.confidence)} interval {percent(low)} to {percent(high)})"
        )


def proportion(hits: int, n: int, confidence: Fraction = CONFIDENCE) -> Proportion:
    """The share of ``hits`` among ``n`` with two-sided intervals.

    Sources: Wilson 1927 (score interval); Clopper and Pearson 1934 (beta quantiles). Without units, 0 to 1.

    Raises:
        ValueError: hits outside 0..n.

    >>> proportion(0, 20).exact[0], proportion(20, 20).exact[1]
    (Decimal('0'), Decimal('1'))
    """
    if not 0 <= hits <= n:
        msg = f"{hits} of {n} is no share"
        raise ValueError(msg)
    if n == 0:
        everything = (Decimal(0), Decimal(1))
        return Proportion(0, 0, confidence, None, everything, everything)
    alpha = 1 - float(confidence)
    score, beta = _wilson(hits, n, alpha), _clopper_pearson(hits, n, alpha)
    return Proportion(hits, n, confidence, Fraction(hits, n), wilson=score, exact=beta)


def _wilson(hits: int, n: int, alpha: float) -> tuple[Decimal, Decimal]:
    z = normal_quantile(1 - alpha / 2)
    share = hits / n
    middle = (share + z * z / (2 * n)) / (1 + z * z / n)
    half = z * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    low = Decimal(0) if hits == 0 else estimate(middle - half)
    high = Decimal(1) if hits == n else estimate(middle + half)
    return low, high


def _clopper_pearson(hits: int, n: int, alpha: float) -> tuple[Decimal, Decimal]:
    low = Decimal(0) if hits == 0 else estimate(beta_quantile(alpha / 2, hits, n - hits + 1))
    high = Decimal(1) if hits == n else estimate(beta_quantile(1 - alpha / 2, hits + 1, n - hits))
    return low, high
