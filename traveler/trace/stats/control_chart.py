"""Control charts: their factors, the run rules, the chart of individuals and moving ranges."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from traveler.result import Result
from traveler.text import plural
from traveler.trace.stats.numbers import Number, estimate, exact_all, scaled

D2 = Fraction(estimate(2 / math.sqrt(math.pi)))
"""Mean of the range of two standard normal readings."""
D3 = Fraction(estimate(math.sqrt(2 - 4 / math.pi)))
"""Standard deviation of that range."""
D4 = Fraction(estimate(1 + 3 * math.sqrt(2 - 4 / math.pi) * math.sqrt(math.pi) / 2))
"""The upper limit of ranges of two, as a multiple of the mean range (ASTM E2587, ISO 7870-2)."""


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


class RuleShape(StrEnum):
    """What a pattern looks for."""

    BEYOND = "beyond"
    ONE_SIDE = "one side"
    TREND = "trend"
    ZONE = "zone"


@dataclass(frozen=True)
class Pattern(Result):
    """One pattern: at least ``count`` of ``window`` neighbors; ``sigmas`` where it asks for a distance."""

    number: int
    shape: RuleShape
    count: int
    window: int
    sigmas: int = 0

    @property
    def words(self) -> str:
        """The pattern as a person would tell it."""
        return _WORDS[self.shape].format(count=self.count, window=self.window, sigmas=self.sigmas)


_WORDS = {
    RuleShape.BEYOND: "beyond the control limit",
    RuleShape.ONE_SIDE: "{count} in a row on one side of the centre line",
    RuleShape.TREND: "{count} in a row, each higher (or each lower) than the one before",
    RuleShape.ZONE: "{count} of {window} beyond {sigmas} sigma on the same side",
}


@dataclass(frozen=True)
class Signal(Result):
    """A pattern that was found: ``first`` to ``last`` are the points it is made of (indices from 0).

    ``flagged`` are the points at which the pattern was complete; a longer run flags several and stays one
    signal. ``side`` is +1 above or rising, −1 below or falling.
    ``pattern`` tells the rule, ``words`` this case of it.
    """

    rule: int
    first: int
    last: int
    flagged: tuple[int, ...]
    side: int
    pattern: str
    words: str


Scores = Sequence[Fraction]
"""Points as distances from the centre line in sigmas; above is positive."""


def _sign(value: int) -> int:
    return (value > 0) - (value < 0)


def _all_one(signs: Sequence[int]) -> int:
    """The common sign of all, or 0."""
    return signs[0] if signs[0] and len(set(signs)) == 1 else 0


def _steps(points: Sequence[int]) -> list[int]:
    return [_sign(b - a) for a, b in pairwise(points)]


def _zone(points: Sequence[int], reach: int, count: int) -> int:
    side = _sign(points[-1])
    beyond = sum(side * point > reach for point in points)
    return side if side * points[-1] > reach and beyond >= count else 0


_FOUND: dict[RuleShape, Callable[[Sequence[int], int, int], int]] = {
    RuleShape.BEYOND: lambda points, reach, _: _sign(points[-1]) if abs(points[-1]) > reach else 0,
    RuleShape.ONE_SIDE: lambda points, *_: _all_one([_sign(point) for point in points]),
    RuleShape.TREND: lambda points, *_: _all_one(_steps(points)),
    RuleShape.ZONE: _zone,
}

_LIMIT = Pattern(1, RuleShape.BEYOND, 1, 1, 3)
ISO_7870_2 = (
    _LIMIT,
    Pattern(2, RuleShape.ONE_SIDE, 7, 7),
    Pattern(3, RuleShape.TREND, 7, 7),
    Pattern(4, RuleShape.ZONE, 2, 3, 2),
)


def flagged(scores: Scores, pattern: Pattern) -> list[tuple[int, int]]:
    """The points at which the pattern is complete, each with its side (±1)."""
    found = []
    points, scale = scaled(scores)
    reach = pattern.sigmas * scale
    for end in range(_shortest(pattern) - 1, len(points)):
        window = points[max(0, end - pattern.window + 1) : end + 1]
        side = _FOUND[pattern.shape](window, reach, pattern.count)
        if side:
            found.append((end, side))
    return found


def _shortest(pattern: Pattern) -> int:
    """The fewest points that can complete the pattern: two beyond two sigma need no third."""
    return pattern.count if pattern.shape is RuleShape.ZONE else pattern.window


def _start(scores: Scores, end: int, side: int, pattern: Pattern) -> int:
    """The first point that belongs to the pattern completed at ``end``."""
    first = max(0, end - pattern.window + 1)
    if pattern.shape is not RuleShape.ZONE:
        return first
    return next(at for at in range(first, end + 1) if side * scores[at] > pattern.sigmas)


def _signal(scores: Scores, run: list[tuple[int, int]], pattern: Pattern) -> Signal:
    side, last = run[0][1], run[-1][0]
    first = _start(scores, run[0][0], side, pattern)
    return Signal(
        rule=pattern.number,
        first=first,
        last=last,
        flagged=tuple(end for end, _ in run),
        side=side,
        pattern=pattern.words,
        words=_words(first, last, side, pattern),
    )


_SIDES = {
    RuleShape.BEYOND: {1: "above the upper control limit", -1: "below the lower control limit"},
    RuleShape.ONE_SIDE: {1: "{length} in a row above the centre line",
                     -1: "{length} in a row below the centre line"},
    RuleShape.TREND: {1: "{length} in a row, each higher than the one before",
                  -1: "{length} in a row, each lower than the one before"},
    RuleShape.ZONE: {1: "{count} of {window} more than {sigmas} sigma above the centre line",
                 -1: "{count} of {window} more than {sigmas} sigma below the centre line"},
}  # fmt: skip


def _words(first: int, last: int, side: int, pattern: Pattern) -> str:
    """``points 5 to 11: 7 in a row above the centre line``; a person counts from 1."""
    where = f"point {last + 1}" if first == last else f"points {first + 1} to {last + 1}"
    return f"{where}: " + _SIDES[pattern.shape][side].format(
        length=last - first + 1, count=pattern.count, window=pattern.window, sigmas=pattern.sigmas
    )


def signals(scores: Scores, patterns: Sequence[Pattern] = ISO_7870_2) -> tuple[Signal, ...]:
    """Every signal, in the order of the points that complete them; neighboring ones of one kind are one.

    Args:
        scores: the points as exact distances from the centre line in sigmas.
        patterns: the rules to apply.
    """
    found = []
    for pattern in patterns:
        run: list[tuple[int, int]] = []
        for end, side in flagged(scores, pattern):
            if run and (end, side) != (run[-1][0] + 1, run[-1][1]):
                found.append(_signal(scores, run, pattern))
                run = []
            run.append((end, side))
        if run:
            found.append(_signal(scores, run, pattern))
    return tuple(sorted(found, key=lambda item: (item.flagged[0], item.rule)))


ENOUGH = 20
"""Readings below which control limits are called provisional (common practice, no source)."""

MOST_TOLD = 5
"""Signals a sentence tells before it says how many more there are."""
EQUAL = "all readings are equal: no limits; the gauge is too coarse or the values are copied"


@dataclass(frozen=True)
class ControlLimits(Result):
    """Centre line and limits at three sigma, in the unit of what is charted."""

    centre: Fraction
    lower: Fraction
    upper: Fraction
    sigma: Fraction


@dataclass(frozen=True)
class IndividualsChart(Result):
    """The chart. ``limits`` and ``range_limits`` are None below two readings or where nothing varies.

    ``range_signals`` only hold ranges beyond their limit: neighboring ranges share a reading, so run
    rules would give false alarms. Index 0 of ``moving_ranges`` (and of their signals) is the range from
    reading 0 to reading 1.
    """

    readings: tuple[Fraction, ...]
    moving_ranges: tuple[Fraction, ...]
    baseline: int
    limits: ControlLimits | None
    range_limits: ControlLimits | None
    signals: tuple[Signal, ...]
    range_signals: tuple[Signal, ...]
    note: str

    @property
    def stable(self) -> bool | None:
        """Whether neither chart gives a signal; None where no limits could be drawn."""
        return None if self.limits is None else not (self.signals or self.range_signals)

    @property
    def sentence(self) -> str:
        """What the chart says, in plain words."""
        if self.limits is None:
            return f"{self.note[0].upper()}{self.note[1:]}."
        found = [signal.words for signal in self.signals]
        found += [f"moving range, {signal.words}" for signal in self.range_signals]
        if len(found) > MOST_TOLD:
            found[MOST_TOLD - 1 :] = [f"and {len(found) - MOST_TOLD + 1} more signals"]
        said = "; ".join(found) if found else "no unusual pattern"
        note = f" ({self.note})" if self.note else ""
        return f"{said[0].upper()}{said[1:]}{note}."


def moving_ranges(readings: Sequence[Fraction]) -> tuple[Fraction, ...]:
    """The absolute difference of each reading from the one before."""
    return tuple(abs(b - a) for a, b in pairwise(readings))


def within_sigma(readings: Sequence[Fraction]) -> Fraction:
    """σ̂ from the mean moving range over d2; readings in the order they were taken, at least two."""
    ranges = moving_ranges(readings)
    whole, scale = scaled(ranges)
    return Fraction(sum(whole), len(whole) * scale) / D2


def individuals_chart(
    values: Sequence[Number], *, baseline: int | None = None, patterns: Sequence[Pattern] = ISO_7870_2
) -> IndividualsChart:
    """The chart of readings in the order they were taken.

    Args:
        values: the readings, in one unit.
        baseline: limits are drawn from so many of the first readings and hold for all; None: from all.
        patterns: run rules for the readings.

    Source: ISO 7870-2 (individuals and moving range, ranges of two); ASTM E2587.
    """
    readings = exact_all(values)
    base = len(readings) if baseline is None else min(baseline, len(readings))
    ranges = moving_ranges(readings)
    if base < 2:
        return _without(readings, ranges, base, f"{plural(base, 'reading')}: limits need at least two")
    sigma = within_sigma(readings[:base])
    if sigma == 0:
        return _without(readings, ranges, base, EQUAL)
    whole, scale = scaled(readings[:base])
    limits = _around(Fraction(sum(whole), base * scale), sigma)
    mean_range = sigma * D2
    range_limits = ControlLimits(mean_range, Fraction(0), mean_range * D4, sigma * D3)
    note = f"limits from {plural(base, 'reading')} are provisional" if base < ENOUGH else ""
    return IndividualsChart(
        readings, ranges, base, limits, range_limits,
        signals=signals([(reading - limits.centre) / sigma for reading in readings], patterns),
        range_signals=_large_ranges(ranges, range_limits), note=note,
    )  # fmt: skip


def _around(centre: Fraction, sigma: Fraction) -> ControlLimits:
    return ControlLimits(centre, centre - 3 * sigma, centre + 3 * sigma, sigma)


def _large_ranges(ranges: Sequence[Fraction], limits: ControlLimits) -> tuple[Signal, ...]:
    above = Pattern(1, RuleShape.BEYOND, 1, 1, 3)
    return signals([(span - limits.centre) / limits.sigma for span in ranges], (above,))


def _without(
    readings: tuple[Fraction, ...], ranges: tuple[Fraction, ...], base: int, note: str
) -> IndividualsChart:
    return IndividualsChart(readings, ranges, base, None, None, (), (), note)
