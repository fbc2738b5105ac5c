"""Control charts: their factors, the run rules, the chart of individuals and moving ranges."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from traveler.trace.stats.numbers import Number, StatResult, counted, estimate, exact_all, scaled, to_digits
from traveler.trace.stats.summary import summarize

LARGEST_SUBGROUP = 100


@dataclass(frozen=True)
class ChartConstants(StatResult):
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


class RuleShape(StrEnum):
    """What a pattern looks for."""

    BEYOND = "beyond"
    ONE_SIDE = "one side"
    TREND = "trend"
    ALTERNATING = "alternating"
    ZONE = "zone"
    HUGGING = "hugging"
    AVOIDING = "avoiding"


@dataclass(frozen=True)
class Pattern(StatResult):
    """One pattern: at least ``count`` of ``window`` neighbours; ``sigmas`` where it asks for a distance."""

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
    RuleShape.ALTERNATING: "{count} in a row going up and down by turns",
    RuleShape.ZONE: "{count} of {window} beyond {sigmas} sigma on the same side",
    RuleShape.HUGGING: "{count} in a row within {sigmas} sigma of the centre line: limits too wide?",
    RuleShape.AVOIDING: "{count} in a row with none within {sigmas} sigma: two sources mixed",
}


@dataclass(frozen=True)
class Signal(StatResult):
    """A pattern that was found: ``first`` to ``last`` are the points it is made of (indices from 0).

    ``flagged`` are the points at which the pattern was complete; a longer run flags several and stays one
    signal. ``side`` is +1 above or rising, −1 below or falling, 0 where there is no side.
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


def _alternating(points: Sequence[int], _reach: int, _count: int) -> bool:
    return all(a * b < 0 for a, b in pairwise(_steps(points)))


_FOUND: dict[RuleShape, Callable[[Sequence[int], int, int], int | bool]] = {
    RuleShape.BEYOND: lambda points, reach, _: _sign(points[-1]) if abs(points[-1]) > reach else 0,
    RuleShape.ONE_SIDE: lambda points, *_: _all_one([_sign(point) for point in points]),
    RuleShape.TREND: lambda points, *_: _all_one(_steps(points)),
    RuleShape.ALTERNATING: _alternating,
    RuleShape.ZONE: _zone,
    RuleShape.HUGGING: lambda points, reach, _: all(abs(point) < reach for point in points),
    RuleShape.AVOIDING: lambda points, reach, _: all(abs(point) > reach for point in points),
}
_SIDED = frozenset({RuleShape.BEYOND, RuleShape.ONE_SIDE, RuleShape.TREND, RuleShape.ZONE})

_LIMIT = Pattern(1, RuleShape.BEYOND, 1, 1, 3)
ISO_7870_2 = (
    _LIMIT,
    Pattern(2, RuleShape.ONE_SIDE, 7, 7),
    Pattern(3, RuleShape.TREND, 7, 7),
    Pattern(4, RuleShape.ZONE, 2, 3, 2),
)
WESTERN_ELECTRIC = (
    _LIMIT,
    Pattern(2, RuleShape.ZONE, 2, 3, 2),
    Pattern(3, RuleShape.ZONE, 4, 5, 1),
    Pattern(4, RuleShape.ONE_SIDE, 8, 8),
)
NELSON = (
    _LIMIT,
    Pattern(2, RuleShape.ONE_SIDE, 9, 9),
    Pattern(3, RuleShape.TREND, 6, 6),
    Pattern(4, RuleShape.ALTERNATING, 14, 14),
    Pattern(5, RuleShape.ZONE, 2, 3, 2),
    Pattern(6, RuleShape.ZONE, 4, 5, 1),
    Pattern(7, RuleShape.HUGGING, 15, 15, 1),
    Pattern(8, RuleShape.AVOIDING, 8, 8, 1),
)


def flagged(scores: Scores, pattern: Pattern) -> list[tuple[int, int]]:
    """The points at which the pattern is complete, each with its side (±1, or 0 where there is none)."""
    found = []
    points, scale = scaled(scores)
    reach = pattern.sigmas * scale
    for end in range(_shortest(pattern) - 1, len(points)):
        window = points[max(0, end - pattern.window + 1) : end + 1]
        side = _FOUND[pattern.shape](window, reach, pattern.count)
        if side:
            found.append((end, int(side) if pattern.shape in _SIDED else 0))
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
    text = _SIDES[pattern.shape][side] if side else pattern.words
    return f"{where}: " + text.format(
        length=last - first + 1, count=pattern.count, window=pattern.window, sigmas=pattern.sigmas
    )


def signals(scores: Scores, patterns: Sequence[Pattern] = ISO_7870_2) -> tuple[Signal, ...]:
    """Every signal, in the order of the points that complete them; neighbouring ones of one kind are one.

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
class ControlLimits(StatResult):
    """Centre line and limits at three sigma, in the unit of what is charted."""

    centre: Fraction
    lower: Fraction
    upper: Fraction
    sigma: Fraction


@dataclass(frozen=True)
class IndividualsChart(StatResult):
    """The chart. ``limits`` and ``range_limits`` are None below two readings or where nothing varies.

    ``range_signals`` only hold ranges beyond their limit: neighbouring ranges share a reading, so run
    rules would cry wolf on them. Index 0 of ``moving_ranges`` (and of their signals) is the range from
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
        said = "; ".join(found) if found else "nothing that chance would not do"
        note = f" ({self.note})" if self.note else ""
        return f"{said[0].upper()}{said[1:]}{note}."


def moving_ranges(readings: Sequence[Fraction]) -> tuple[Fraction, ...]:
    """The absolute difference of each reading from the one before."""
    return tuple(abs(b - a) for a, b in itertools.pairwise(readings))


def _factor(name: str) -> Fraction:
    return Fraction(getattr(chart_constants(2), name))


def within_sigma(readings: Sequence[Fraction]) -> Fraction:
    """σ̂ from the mean moving range over d2; readings in the order they were taken, at least two."""
    ranges = moving_ranges(readings)
    whole, scale = scaled(ranges)
    return Fraction(sum(whole), len(whole) * scale) / _factor("d2")


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
        return _without(readings, ranges, base, f"{counted(base, 'reading')}: limits need at least two")
    sigma = within_sigma(readings[:base])
    if sigma == 0:
        return _without(readings, ranges, base, EQUAL)
    whole, scale = scaled(readings[:base])
    limits = _around(Fraction(sum(whole), base * scale), sigma)
    mean_range = sigma * _factor("d2")
    spread = sigma * Fraction(to_digits(Fraction(chart_constants(2).d3)))
    range_limits = ControlLimits(mean_range, mean_range * 0, mean_range * _factor("d4_upper"), spread)
    note = f"limits from {counted(base, 'reading')} are provisional" if base < ENOUGH else ""
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


@dataclass(frozen=True)
class SubgroupChart(StatResult):
    """Means with their limits, spreads (range or standard deviation) with theirs.

    ``sigma`` estimates the standard deviation of single readings within a subgroup. Limits are None where
    they cannot be drawn; ``note`` says why.
    """

    size: int
    spread: Literal["range", "sd"]
    means: tuple[Fraction, ...]
    spreads: tuple[Fraction, ...]
    limits: ControlLimits | None
    spread_limits: ControlLimits | None
    sigma: Fraction | None
    signals: tuple[Signal, ...]
    spread_signals: tuple[Signal, ...]
    note: str


def subgroup_chart(
    subgroups: Sequence[Sequence[Number]],
    *,
    spread: Literal["range", "sd"] = "range",
    patterns: Sequence[Pattern] = ISO_7870_2,
) -> SubgroupChart:
    """The chart of subgroups of one size (X̄-R with ``range``, X̄-s with ``sd``).

    The range serves up to about ten readings a subgroup, the standard deviation any number.
    Source: ISO 7870-2; ASTM E2587 (factors A2, D3, D4; A3, B3, B4).

    Raises:
        ValueError: subgroups of different sizes, of one reading, or of more than a hundred.
    """
    groups = [exact_all(group) for group in subgroups]
    sizes = {len(group) for group in groups}
    if len(sizes) > 1 or (sizes and not 2 <= max(sizes) <= LARGEST_SUBGROUP):
        msg = f"subgroups must be of one size, 2 to {LARGEST_SUBGROUP} readings; got {sorted(sizes)}"
        raise ValueError(msg)
    size = max(sizes, default=0)
    means = tuple(sum(group, Fraction()) / size for group in groups)
    spreads = tuple(_spread(group, spread) for group in groups)
    mean_spread = sum(spreads, Fraction()) / len(spreads) if spreads else Fraction()
    if not mean_spread:
        note = "no subgroup varies within itself: no limits" if groups else "no subgroup"
        return SubgroupChart(size, spread, means, spreads, None, None, None, (), (), note)
    limits, spread_limits = _limits(means, mean_spread, chart_constants(size), spread)
    return SubgroupChart(
        size, spread, means, spreads, limits, spread_limits,
        sigma=mean_spread / Fraction(getattr(chart_constants(size), "d2" if spread == "range" else "c4")),
        signals=signals([(mean - limits.centre) / limits.sigma for mean in means], patterns),
        spread_signals=_beyond(spreads, spread_limits),
        note="limits from few subgroups are provisional" if len(groups) < 20 else "",
    )  # fmt: skip


def _spread(group: tuple[Fraction, ...], kind: Literal["range", "sd"]) -> Fraction:
    if kind == "range":
        return max(group) - min(group)
    summary = summarize(group)
    return Fraction(summary.sd) if summary and summary.sd is not None else Fraction()


def _limits(
    means: tuple[Fraction, ...], mean_spread: Fraction, known: ChartConstants, kind: Literal["range", "sd"]
) -> tuple[ControlLimits, ControlLimits]:
    if kind == "range":
        reach, low, high = known.a2, known.d3_lower, known.d4_upper
    else:
        reach, low, high = known.a3, known.b3_lower, known.b4_upper
    centre = sum(means, Fraction()) / len(means)
    width = Fraction(reach) * mean_spread
    upper = Fraction(high) * mean_spread
    return (
        ControlLimits(centre, centre - width, centre + width, width / 3),
        ControlLimits(mean_spread, Fraction(low) * mean_spread, upper, (upper - mean_spread) / 3),
    )


def _beyond(spreads: tuple[Fraction, ...], limits: ControlLimits) -> tuple[Signal, ...]:
    """Spreads beyond their limits; the lower limit is cut off at zero, so sides are scored apart."""
    below = limits.centre - limits.lower
    scores = [
        (spread - limits.centre)
        / (limits.sigma if spread >= limits.centre or not limits.lower else below / 3)
        for spread in spreads
    ]
    return signals(scores, (Pattern(1, RuleShape.BEYOND, 1, 1, 3),))
