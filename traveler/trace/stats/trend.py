"""Drift: whether readings move with time, how fast, and when they would reach a limit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from traveler.result import Result
from traveler.text import plural
from traveler.trace.stats.numbers import (
    Number,
    chance,
    estimate,
    exact,
    exact_all,
    normal_quantile,
    normal_upper,
    short,
)
from traveler.trace.stats.proportion import CONFIDENCE
from traveler.trace.stats.summary import summarize

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_MOST = 0.95


@dataclass(frozen=True)
class MannKendall:
    """Kendall's S, two-sided probabilities without and with the correction, and the correction."""

    s: float
    p_plain: float
    p: float
    correction: float


def mann_kendall(y: NDArray[np.float64], residuals: NDArray[np.float64]) -> MannKendall:
    """The test on at least five readings ``y`` in order; ``residuals`` are what a line leaves of them.

    Sources: Mann 1945; Kendall 1975 (normal approximation, ties, continuity); Hamed and Rao 1998
    (correction).
    """
    import numpy as np

    s = float(sum(np.sign(y[at + 1 :] - y[at]).sum() for at in range(len(y) - 1)))
    correction = widening(residuals)
    shift = max(0.0, abs(s) - 1)
    variance = kendall_variance(y)
    plain, corrected = (2 * normal_upper(shift / math.sqrt(variance * value)) for value in (1.0, correction))
    return MannKendall(s, plain, corrected, correction)


def kendall_variance(y: NDArray[np.float64]) -> float:
    """Variance of S without a trend: (n(n−1)(2n+5) − Σ t(t−1)(2t+5))/18 over ties of t readings."""
    import numpy as np

    n = len(y)
    _, ties = np.unique(y, return_counts=True)
    tied = float((ties * (ties - 1.0) * (2.0 * ties + 5)).sum())
    return (n * (n - 1.0) * (2.0 * n + 5) - tied) / 18


def widening(residuals: NDArray[np.float64]) -> float:
    """By how much neighbors that resemble each other widen the variance of S, never below 1.

    Hamed and Rao's factor 1 + 2/(n(n−1)(n−2)) Σ (n−k)(n−k−1)(n−k−2) ρₖ with ρₖ = ρᵏ, the autocorrelation of a
    first-order process: ρ is that of neighboring ranks, lifted by what the fitted line took away, (nρ +
    2)/(n − 4), and counts if significant at 5 %, one-sided. Estimating every lag by itself left three
    times as many false alarms. Narrowing is not granted: it would make alarms out of alternation.
    """
    import numpy as np
    from scipy.stats import rankdata

    n = len(residuals)
    ranks = rankdata(residuals) - (n + 1) / 2
    power = float(ranks @ ranks)
    rho = float(ranks[:-1] @ ranks[1:]) / power if power else 0.0
    if rho <= 1.644854 / math.sqrt(n) - 1 / n:
        return 1.0
    lags = np.arange(1, n)
    weights = (n - lags) * (n - lags - 1.0) * (n - lags - 2.0)
    lifted = min(_MOST, (n * rho + 2) / (n - 4))
    return 1 + 2 / (n * (n - 1.0) * (n - 2.0)) * float(weights @ lifted**lags)


LONGEST = 1500
"""More readings than this are thinned evenly: all pairs of slopes would take too long."""


@dataclass(frozen=True)
class TheilSenLine:
    """The line through readings 0, 1, 2 …: for use inside this package, so its numbers are floats.

    ``level`` is where it stands at the last reading; ``scatter`` the standard deviation about it; ``y`` and
    ``residuals`` are the readings less their exact mean, and what the line leaves of them (thinned if many).
    """

    slope: float
    low: float
    high: float
    level: float
    scatter: float
    y: NDArray[np.float64]
    residuals: NDArray[np.float64]


def theil_sen(readings: Sequence[Fraction], confidence: float) -> TheilSenLine:
    """The line with the median of all pairwise slopes, and Sen's interval for that slope.

    Sources: Theil 1950; Sen 1968 (interval from the variance of Kendall's S, ties corrected).
    """
    import numpy as np

    summary = summarize(readings)
    mean = summary.mean if summary is not None else Fraction()
    at = np.unique(np.linspace(0, len(readings) - 1, min(len(readings), LONGEST)).round().astype(np.int64))
    x = at.astype(np.float64)
    y = np.array([float(readings[item] - mean) for item in at])
    first, second = np.triu_indices(len(y), 1)
    slopes = np.sort((y[second] - y[first]) / (x[second] - x[first]))
    slope = float(np.median(slopes))
    low, high = _interval(slopes, y, confidence)
    flat = y - slope * x
    residuals = flat - np.median(flat)
    level = float(mean) + slope * (len(readings) - 1) + float(np.median(flat))
    return TheilSenLine(slope, low, high, level, float(np.std(residuals, ddof=2)), y, residuals)


def _interval(slopes: NDArray[np.float64], y: NDArray[np.float64], confidence: float) -> tuple[float, float]:
    """As many slopes in from both ends as Kendall's S may stray by chance."""
    stray = normal_quantile((1 + confidence) / 2) * math.sqrt(kendall_variance(y))
    first = max(0, round((len(slopes) - stray) / 2) - 1)
    last = min(len(slopes) - 1, round((len(slopes) + stray) / 2))
    return float(slopes[first]), float(slopes[last])


FEWEST = 10
"""Readings below which a drift is not judged: the test's normal approximation wants ten (Kendall 1975)."""
FARTHEST = 100_000
"""Units beyond which a projection is no longer told."""
ALPHA = Decimal("0.05")


@dataclass(frozen=True)
class Projection(Result):
    """Units until the limit ahead is reached if the drift goes on; 0: already there; None: beyond 100,000.

    ``centre``: until the drifting middle is at the limit. ``readings``: until the middle plus three
    residual standard deviations is, so that single units begin to fail. ``soonest`` and ``latest``:
    ``centre`` with the steepest and the flattest slope of the interval.
    """

    limit: Fraction
    centre: int | None
    readings: int | None
    soonest: int | None
    latest: int | None


@dataclass(frozen=True)
class Trend(Result):
    """The drift of readings taken in this order.

    ``slope`` is the median of all pairwise slopes per unit (Theil-Sen) with its interval. ``p`` is that of
    Mann-Kendall, two-sided, corrected for neighbors that resemble each other (``correction`` is the
    factor on the variance); ``p_plain`` is without. ``level`` is where the line stands at the last
    reading, ``scatter`` the standard deviation about it. None where there are too few readings or all are
    equal.
    """

    n: int
    slope: Decimal | None
    slope_low: Decimal | None
    slope_high: Decimal | None
    level: Decimal | None
    scatter: Decimal | None
    p: Decimal | None
    p_plain: Decimal | None
    correction: Decimal | None
    projection: Projection | None
    sentence: str

    @property
    def drifting(self) -> bool:
        """Whether the drift is significant."""
        return self.p is not None and self.p < ALPHA


def trend(
    values: Sequence[Number],
    *,
    lower: Number | None = None,
    upper: Number | None = None,
    confidence: Fraction = CONFIDENCE,
) -> Trend:
    """Judge whether readings drift, and project when the limit ahead is reached.

    Args:
        values: readings in the order they were taken, one a unit.
        lower: lower limit, or None.
        upper: upper limit, or None.
        confidence: of the interval of the slope.
    """
    readings = exact_all(values)
    n = len(readings)
    if n < FEWEST:
        return _undecided(
            n, f"{plural(n, 'reading')}: too few to judge a drift; at least {FEWEST} are needed."
        )
    if len(set(readings)) == 1:
        return _undecided(n, f"All {n} readings are equal: no drift.")
    line = theil_sen(readings, float(confidence))
    test = mann_kendall(line.y, line.residuals)
    limit = _ahead(line.slope, lower, upper)
    drifting = test.p < float(ALPHA)
    ahead = _project(line, exact(limit)) if drifting and limit is not None else None
    return Trend(
        n, estimate(line.slope), estimate(line.low), estimate(line.high), estimate(line.level),
        estimate(line.scatter), estimate(test.p), estimate(test.p_plain), estimate(test.correction),
        projection=ahead, sentence=_sentence(line, test, drifting=drifting, ahead=ahead),
    )  # fmt: skip


def _undecided(n: int, sentence: str) -> Trend:
    return Trend(n, None, None, None, None, None, None, None, None, None, sentence)


def _ahead(slope: float, lower: Number | None, upper: Number | None) -> Number | None:
    """The limit the readings move toward."""
    return upper if slope > 0 else lower if slope < 0 else None


def _project(line: TheilSenLine, limit: Fraction) -> Projection:
    toward = math.copysign(1.0, line.slope)
    way, speed = toward * (float(limit) - line.level), toward * line.slope
    flat, steep = sorted((toward * line.low, toward * line.high))
    return Projection(
        limit,
        centre=_units(way, speed),
        readings=_units(way - 3 * line.scatter, speed),
        soonest=_units(way, steep),
        latest=_units(way, flat),
    )


def _units(way: float, speed: float) -> int | None:
    """Whole units until the way is gone; 0 if there is none left, None if never or beyond the telling."""
    if way <= 0:
        return 0
    if speed <= 0 or way / speed > FARTHEST:
        return None
    return math.ceil(way / speed)


def _sentence(line: TheilSenLine, test: MannKendall, *, drifting: bool, ahead: Projection | None) -> str:
    p = chance(estimate(test.p))
    if not drifting:
        caution = ""
        if test.p_plain < float(ALPHA):
            caution = "; the apparent drift comes from neighbors that resemble each other"
        return f"No significant drift ({p}){caution}."
    way = "upward" if line.slope > 0 else "downward"
    said = f"Drifts {way} by {short(estimate(abs(line.slope) * 100))} per 100 units ({p})"
    return f"{said}; {_projected(ahead)}." if ahead is not None else f"{said}."


def _projected(ahead: Projection) -> str:
    limit = short(ahead.limit, 6)
    if ahead.centre is None:
        return f"the limit {limit} is more than {FARTHEST} units away"
    if ahead.centre == 0:
        return f"the middle is already beyond the limit {limit}"
    first = (
        "single units already fail"
        if ahead.readings == 0
        else (f"single units begin to fail in about {ahead.readings} units")
    )
    latest = "never" if ahead.latest is None else str(ahead.latest)
    return (
        f"at this rate {first}, and the middle reaches the limit {limit} in about {ahead.centre} "
        f"({ahead.soonest} to {latest}) units"
    )
