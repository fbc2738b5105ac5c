"""Drift: whether readings move with time, how fast, and when they would reach a limit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from traveler.trace.statistics.exact import Number, estimate, exact, exact_all
from traveler.trace.statistics.mann_kendall import MannKendall, mann_kendall
from traveler.trace.statistics.proportion import CONFIDENCE
from traveler.trace.statistics.result import Result
from traveler.trace.statistics.theil_sen import Line, theil_sen
from traveler.trace.statistics.wording import chance, counted, short

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
    Mann-Kendall, two-sided, corrected for neighbours that resemble each other (``correction`` is the
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
        """Whether the drift is more than chance would do."""
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
        return _silent(n, f"{counted(n, 'reading')}: too few to judge a drift; at least {FEWEST} are needed.")
    if len(set(readings)) == 1:
        return _silent(n, f"All {n} readings are equal: no drift.")
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


def _silent(n: int, sentence: str) -> Trend:
    return Trend(n, None, None, None, None, None, None, None, None, None, sentence)


def _ahead(slope: float, lower: Number | None, upper: Number | None) -> Number | None:
    """The limit the readings move toward."""
    return upper if slope > 0 else lower if slope < 0 else None


def _project(line: Line, limit: Fraction) -> Projection:
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


def _sentence(line: Line, test: MannKendall, *, drifting: bool, ahead: Projection | None) -> str:
    p = chance(estimate(test.p))
    if not drifting:
        caution = ""
        if test.p_plain < float(ALPHA):
            caution = "; what looks like one is neighbours resembling each other"
        return f"No drift beyond chance ({p}){caution}."
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
