"""Bins of a histogram, laid between the steps of the gauge so that no bar is fuller for having more steps."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

MOST = 60


def bin_edges(readings: Sequence[Fraction]) -> tuple[Fraction, ...]:
    """Edges of equal bins, whole gauge steps wide, half a step off the readings; empty without readings.

    The width is that of Freedman and Diaconis 1981 (2 · interquartile range · n^(−1/3)), rounded to whole
    steps; the step is the smallest place the readings are written to.
    """
    if not readings:
        return ()
    in_order = sorted(readings)
    step = _step(in_order)
    low, high = in_order[0], in_order[-1]
    quarter = max(len(in_order) // 4, 0)
    spread = in_order[len(in_order) - 1 - quarter] - in_order[quarter] or (high - low)
    wanted = 2 * float(spread) / len(in_order) ** (1 / 3)
    steps = max(1, round(wanted / float(step)), math.ceil((high - low) / step / MOST))
    width = steps * step
    count = int((high - low) / width) + 1
    start = low - step / 2
    return tuple(start + at * width for at in range(count + 1))


def _step(readings: Sequence[Fraction]) -> Fraction:
    """The place readings are written to: 1/1000 for 0.041; a fifteenth of the spread for endless ones."""
    places = max(_places(one) for one in readings)
    if places <= 12:
        return Fraction(1, 10**places)
    return (readings[-1] - readings[0]) / 15 or Fraction(1)


def _places(reading: Fraction) -> int:
    """Decimal places needed to write the number; 99 if it never ends."""
    left = reading.denominator
    twos = fives = 0
    while left % 2 == 0:
        left, twos = left // 2, twos + 1
    while left % 5 == 0:
        left, fives = left // 5, fives + 1
    return max(twos, fives) if left == 1 else 99


def counts(readings: Sequence[Fraction], edges: Sequence[Fraction]) -> tuple[int, ...]:
    """Readings in each bin."""
    filled = [0] * max(0, len(edges) - 1)
    for one in readings:
        width = edges[1] - edges[0]
        filled[min(len(filled) - 1, int((one - edges[0]) / width))] += 1
    return tuple(filled)
