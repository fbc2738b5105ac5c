"""The chart of single readings and their moving ranges (I-MR chart)."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from traveler.trace.statistics.constants import chart_constants
from traveler.trace.statistics.exact import Number, exact_all, rounded, scaled
from traveler.trace.statistics.result import Result
from traveler.trace.statistics.run_rules import ISO_7870_2, Pattern, Shape, Signal, signals
from traveler.trace.statistics.wording import counted

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
        found = [one.words for one in self.signals]
        found += [f"moving range, {one.words}" for one in self.range_signals]
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
    spread = sigma * Fraction(rounded(Fraction(chart_constants(2).d3)))
    range_limits = ControlLimits(mean_range, mean_range * 0, mean_range * _factor("d4_upper"), spread)
    note = f"limits from {counted(base, 'reading')} are provisional" if base < ENOUGH else ""
    return IndividualsChart(
        readings, ranges, base, limits, range_limits,
        signals=signals([(one - limits.centre) / sigma for one in readings], patterns),
        range_signals=_large_ranges(ranges, range_limits), note=note,
    )  # fmt: skip


def _around(centre: Fraction, sigma: Fraction) -> ControlLimits:
    return ControlLimits(centre, centre - 3 * sigma, centre + 3 * sigma, sigma)


def _large_ranges(ranges: Sequence[Fraction], limits: ControlLimits) -> tuple[Signal, ...]:
    above = Pattern(1, Shape.BEYOND, 1, 1, 3)
    return signals([(one - limits.centre) / limits.sigma for one in ranges], (above,))


def _without(
    readings: tuple[Fraction, ...], ranges: tuple[Fraction, ...], base: int, note: str
) -> IndividualsChart:
    return IndividualsChart(readings, ranges, base, None, None, (), (), note)
