"""Statistical tolerance intervals: where a share of all units lies, with a stated confidence."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from traveler.result import Result
from traveler.text import plural
from traveler.trace.stats.numbers import (
    Number,
    binomial_lower,
    chi_square_quantile,
    estimate,
    exact_all,
    noncentral_t_quantile,
    normal_quantile,
    percent,
    short,
    sorted_exactly,
)
from traveler.trace.stats.summary import summarize

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


Side = Literal["both", "upper", "lower"]
"""Which bounds are wanted: both, only an upper one, only a lower one."""


@dataclass(frozen=True)
class ToleranceInterval(Result):
    """An interval holding at least ``coverage`` of all units with ``confidence``; an open bound is None.

    ``method`` is ``normal`` (x̄ ± factor · s) or ``distribution-free`` (two of the readings themselves;
    ``factor`` is None then). ``attained`` is the confidence reached: with too few readings a
    distribution-free interval falls short of the one wanted, ``enough`` is False and ``needed`` says how
    many readings would do. Both bounds are None where nothing can be said at all.
    """

    n: int
    method: Literal["normal", "distribution-free"]
    side: Side
    coverage: Fraction
    confidence: Fraction
    lower: Fraction | None
    upper: Fraction | None
    factor: Decimal | None
    attained: Decimal
    needed: int

    @property
    def enough(self) -> bool:
        """Whether the confidence wanted was reached."""
        return self.n >= self.needed

    @property
    def sentence(self) -> str:
        """What the interval says, in plain words."""
        kind = "if they are normal" if self.method == "normal" else "whatever their distribution"
        if self.lower is None and self.upper is None:
            return f"{plural(self.n, 'reading')}: no tolerance interval; at least {self.needed} are needed."
        said = f"At least {percent(self.coverage)} of all units lie {self._range()}, {kind}"
        if self.enough:
            return f"{said} (confidence {percent(self.confidence)})."
        return (
            f"{said}, but with a confidence of only {percent(self.attained)}: "
            f"{percent(self.confidence)} needs {self.needed} readings and there are {self.n}."
        )

    def _range(self) -> str:
        low = None if self.lower is None else short(self.lower, 5)
        high = None if self.upper is None else short(self.upper, 5)
        if low is None:
            return f"at or below {high}"
        return f"at or above {low}" if high is None else f"between {low} and {high}"


def normal_interval(
    values: Iterable[Number],
    *,
    side: Side = "both",
    coverage: Fraction = COVERAGE,
    confidence: Fraction = CONFIDENCE,
) -> ToleranceInterval:
    """The interval for normal readings, with the exact factor k₁ or k₂ (ISO 16269-6, mean and sd unknown)."""
    summary = summarize(values)
    if summary is None or summary.sd is None:
        n = 0 if summary is None else summary.n
        return ToleranceInterval(
            n, "normal", side, coverage, confidence, None, None, None, attained=Decimal(0), needed=2
        )
    find = two_sided_factor if side == "both" else one_sided_factor
    factor = find(summary.n, coverage, confidence)
    reach = Fraction(factor) * Fraction(summary.sd)
    return ToleranceInterval(
        summary.n, "normal", side, coverage, confidence,
        lower=None if side == "upper" else summary.mean - reach,
        upper=None if side == "lower" else summary.mean + reach,
        factor=factor, attained=estimate(float(confidence)), needed=2,
    )  # fmt: skip


def distribution_free_interval(
    values: Iterable[Number],
    *,
    side: Side = "both",
    coverage: Fraction = COVERAGE,
    confidence: Fraction = CONFIDENCE,
) -> ToleranceInterval:
    """The interval between two of the ordered readings, for any distribution (ISO 16269-6; Wilks 1941).

    As many of the outermost readings are left out as the confidence allows, evenly from both ends (one
    more at the top where the number is odd); with too few readings the extremes are taken and the
    confidence they give is said.
    """
    readings = sorted_exactly(exact_all(values))
    n, ends = len(readings), 2 if side == "both" else 1
    needed = readings_needed(ends, coverage, confidence)
    if n < ends:
        return ToleranceInterval(
            n, "distribution-free", side, coverage, confidence, None, None, None,
            attained=Decimal(0), needed=needed,
        )  # fmt: skip
    outside = _most_outside(n, ends, coverage, confidence)
    below = {"both": outside // 2, "lower": outside, "upper": 0}[side]
    above = outside - below
    return ToleranceInterval(
        n, "distribution-free", side, coverage, confidence,
        lower=readings[below - 1] if below else None,
        upper=readings[n - above] if above else None,
        factor=None, attained=estimate(_confidence(n, outside, coverage)), needed=needed,
    )  # fmt: skip


def readings_needed(ends: int, coverage: Fraction = COVERAGE, confidence: Fraction = CONFIDENCE) -> int:
    """How many readings give that confidence when the extremes are the bounds (``ends``: 1 or 2 of them).

    >>> readings_needed(2), readings_needed(1)
    (93, 59)
    """
    n = ends
    while _confidence(n, ends, coverage) < float(confidence):
        n += max(1, n // 64) if _confidence(n + max(1, n // 64), ends, coverage) < float(confidence) else 1
    return n


def _confidence(n: int, outside: int, coverage: Fraction) -> float:
    """P(the interval holds that coverage), bounded ``outside`` order statistics in from the ends in all."""
    return binomial_lower(n - outside, n, float(coverage))


def _most_outside(n: int, ends: int, coverage: Fraction, confidence: Fraction) -> int:
    """How many order statistics to go in from the ends, at most, to keep the confidence."""
    outside = ends
    while outside < n - 1 and _confidence(n, outside + 1, coverage) >= float(confidence):
        outside += 1
    return outside
