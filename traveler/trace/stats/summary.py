"""One series described: mean, spread, serial correlation, and whether it may be treated as normal."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from traveler.result import Result
from traveler.text import plural
from traveler.trace.stats.numbers import (
    Number,
    chance,
    estimate,
    exact_all,
    exact_root,
    normal_upper,
    scaled,
    to_digits,
)

SHOWN = 16


@dataclass(frozen=True)
class Summary(Result):
    """Numbers that describe readings taken in this order; all in the readings' own unit.

    ``mean``, ``variance`` (divisor n − 1) and ``lag1`` (autocorrelation of neighbors) are exact; ``sd``
    has 34 digits. None where it is not defined: ``variance`` and ``sd`` below two readings, ``lag1`` also
    when all readings are equal.
    """

    n: int
    mean: Fraction
    median: Fraction
    smallest: Fraction
    largest: Fraction
    variance: Fraction | None = None
    sd: Decimal | None = None
    lag1: Fraction | None = None

    def as_dict(self) -> dict[str, object]:
        """As JSON; the standard deviation to 16 digits."""
        return super().as_dict() | {"sd": None if self.sd is None else str(to_digits(self.sd, SHOWN))}


def summarize(values: Iterable[Number]) -> Summary | None:
    """The summary, or None without a reading.

    Sums are taken over whole numbers with one common denominator, so nothing cancels: the certified values
    of the NIST Statistical Reference Datasets (univariate) are met to every printed digit.

    >>> summarize(["10000001", "10000003", "10000002"]).as_dict()["lag1"]
    '-0.5'
    """
    readings = exact_all(values)
    if not readings:
        return None
    whole, scale = scaled(readings)
    n, total = len(whole), sum(whole)
    in_order = sorted(whole)
    deviations = [n * count - total for count in whole]
    squares = sum(deviation * deviation for deviation in deviations)
    variance = Fraction(squares, n * n * (n - 1) * scale * scale) if n > 1 else None
    products = sum(a * b for a, b in itertools.pairwise(deviations))
    return Summary(
        n=n,
        mean=Fraction(total, n * scale),
        median=Fraction(in_order[(n - 1) // 2] + in_order[n // 2], 2 * scale),
        smallest=Fraction(in_order[0], scale),
        largest=Fraction(in_order[-1], scale),
        variance=variance,
        sd=None if variance is None else exact_root(variance),
        lag1=Fraction(products, squares) if squares else None,
    )


FEWEST_IN_ORDER = 8


def serial_correlation(values: Sequence[Number]) -> Decimal | None:
    """P(neighbors resemble each other at least this much) if readings, in order, were independent.

    Small where the level drifts, jumps or swings slowly. None below eight readings or where all are equal.

    The mean square of successive differences against the variance: C = 1 − Σ(xᵢ₊₁ − xᵢ)² / 2Σ(xᵢ − x̄)², which
    for independent normal readings is nearly normal about 0 with variance (n − 2)/(n² − 1).
    Sources: von Neumann 1941; Young 1941.
    """
    readings = exact_all(values)
    n = len(readings)
    if n < FEWEST_IN_ORDER or len(set(readings)) == 1:
        return None
    whole, _ = scaled(readings)
    total = sum(whole)
    squares = sum((n * count - total) ** 2 for count in whole)
    steps = sum((n * (b - a)) ** 2 for a, b in pairwise(whole))
    resemblance = 1 - steps / (2 * squares)
    return estimate(normal_upper(resemblance / math.sqrt((n - 2) / (n * n - 1))))


FEWEST_FOR_NORMALITY = 8
"""Below this the Anderson-Darling probability is not tabulated (Stephens 1986 asks for n ≥ 8)."""
FEW, MANY = 20, 500
COARSE = 8
"""Fewer different values than this among many readings: the gauge's steps show, not the distribution."""
ALPHA = Decimal("0.05")
SHAPIRO_MOST = 5000


class Normal(StrEnum):
    """The judgment."""

    PLAUSIBLE = "plausible"
    DOUBTFUL = "doubtful"
    REFUTED = "refuted"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Normality(Result):
    """The judgment with both tests; a test is None where it does not apply.

    ``different`` counts the different values. ``skewness`` (third standardised moment) says which tail is
    long.
    """

    n: int
    different: int
    judgement: Normal
    anderson_darling: Decimal | None
    anderson_darling_p: Decimal | None
    shapiro_wilk: Decimal | None
    shapiro_wilk_p: Decimal | None
    skewness: Decimal | None
    sentence: str


def normality(values: Iterable[Number]) -> Normality:
    """Judge whether readings look normal.

    Both tests at 5 %: neither objects → plausible; one → doubtful; both → refuted. Unknown with fewer than
    eight readings, without spread, or where only a few different values occur (the gauge's resolution
    decides then).

    Sources: D'Agostino and Stephens 1986, table 4.9 (A² with mean and variance estimated, A*² = A² (1 +
    0.75/n + 2.25/n²), and the formulas of its probability); Shapiro and Wilk 1965 (scipy, Royston's
    algorithm, n ≤ 5000).
    """
    readings = exact_all(values)
    n, different = len(readings), len(set(readings))
    if n < FEWEST_FOR_NORMALITY or different < 2:
        return Normality(n, different, Normal.UNKNOWN, None, None, None, None, None, _no_test(n))
    scores = standardised(readings)
    a2 = anderson_darling(scores)
    a2_p = anderson_darling_probability(a2, n)
    w, w_p = _shapiro(scores) if n <= SHAPIRO_MOST else (None, None)
    judgement = _judge(n, different, a2_p, w_p)
    skewness = math.fsum(score**3 for score in scores) / n
    shapiro, shapiro_p = (None if value is None else estimate(value) for value in (w, w_p))
    return Normality(
        n, different, judgement, estimate(a2), estimate(a2_p), shapiro, shapiro_p, estimate(skewness),
        sentence=_sentence(n, different, judgement, estimate(a2_p), shapiro_p, skewness),
    )  # fmt: skip


def standardised(readings: Sequence[Fraction]) -> list[float]:
    """The readings as (x − x̄)/s in rising order; the difference is taken exactly, before any rounding."""
    summary = summarize(readings)
    if summary is None or not summary.sd:
        msg = "readings without spread have no scores"
        raise ValueError(msg)
    whole, scale = scaled(readings)
    total, size = sum(whole), float(summary.n * scale * Fraction(summary.sd))
    return sorted((summary.n * count - total) / size for count in whole)


def anderson_darling(scores: Sequence[float]) -> float:
    """A² against the normal distribution, from scores in rising order."""
    from scipy import special

    n = len(scores)
    lower = special.log_ndtr(scores)
    upper = special.log_ndtr([-score for score in reversed(scores)])
    return -n - math.fsum((2 * at + 1) * (lower[at] + upper[at]) for at in range(n)) / n


def anderson_darling_probability(a2: float, n: int) -> float:
    """P(A² at least this large) for normal readings whose mean and variance are estimated."""
    adjusted = a2 * (1 + 0.75 / n + 2.25 / n**2)
    if adjusted >= 13:
        return 0.0
    if adjusted >= 0.6:
        return math.exp(1.2937 - 5.709 * adjusted + 0.0186 * adjusted**2)
    if adjusted >= 0.34:
        return math.exp(0.9177 - 4.279 * adjusted - 1.38 * adjusted**2)
    if adjusted >= 0.2:
        return 1 - math.exp(-8.318 + 42.796 * adjusted - 59.938 * adjusted**2)
    return 1 - math.exp(-13.436 + 101.14 * adjusted - 223.73 * adjusted**2)


def _shapiro(scores: Sequence[float]) -> tuple[float, float]:
    from scipy.stats import shapiro

    found = shapiro(scores)
    return float(found.statistic), float(found.pvalue)


def _judge(n: int, different: int, a2_p: float, w_p: float | None) -> Normal:
    if different < min(COARSE, n):
        return Normal.UNKNOWN
    objections = [p < float(ALPHA) for p in (a2_p, w_p) if p is not None]
    if all(objections):
        return Normal.REFUTED
    return Normal.DOUBTFUL if any(objections) else Normal.PLAUSIBLE


def _no_test(n: int) -> str:
    if n < FEWEST_FOR_NORMALITY:
        return (
            f"{plural(n, 'reading')}: too few to judge whether they are normal (at least "
            f"{FEWEST_FOR_NORMALITY})."
        )
    return f"All {n} readings are equal: the gauge is too coarse or the values are copied."


def _sentence(
    n: int, different: int, judgement: Normal, a2_p: Decimal, w_p: Decimal | None, skewness: float
) -> str:
    shapiro = "" if w_p is None else f", Shapiro-Wilk {chance(w_p)}"
    tests = f"Anderson-Darling {chance(a2_p)}{shapiro}"
    if judgement is Normal.UNKNOWN:
        return (
            f"Only {different} different values among {n} readings: the gauge's resolution is coarse against "
            f"the spread, so a test of normality says little ({tests})."
        )
    if judgement is Normal.PLAUSIBLE:
        caution = f"; {n} readings reveal only large departures" if n < FEW else ""
        return f"No test contradicts a normal distribution ({tests}){caution}."
    tail = f"; the {'upper' if skewness > 0 else 'lower'} tail is long" if abs(skewness) > 0.5 else ""
    many = f"; with {n} readings even small departures show: see the histogram" if n > MANY else ""
    opening = (
        "Not normal" if judgement is Normal.REFUTED else "Perhaps not normal: one of two tests contradicts it"
    )
    return f"{opening} ({tests}){tail}{many}."
