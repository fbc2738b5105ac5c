"""The Theil-Sen line: a slope that a third of wild readings cannot bend."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from traveler.trace.statistics.distributions import normal_quantile
from traveler.trace.statistics.mann_kendall import kendall_variance
from traveler.trace.statistics.summary import summarize

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LONGEST = 1500
"""More readings than this are thinned evenly: all pairs of slopes would take too long."""


@dataclass(frozen=True)
class Line:
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


def theil_sen(readings: Sequence[Fraction], confidence: float) -> Line:
    """The line with the median of all pairwise slopes, and Sen's interval for that slope.

    Sources: Theil 1950; Sen 1968 (interval from the variance of Kendall's S, ties corrected).
    """
    import numpy as np

    summary = summarize(readings)
    mean = summary.mean if summary is not None else Fraction()
    at = np.unique(np.linspace(0, len(readings) - 1, min(len(readings), LONGEST)).round().astype(np.int64))
    x = at.astype(np.float64)
    y = np.array([float(readings[one] - mean) for one in at])
    first, second = np.triu_indices(len(y), 1)
    slopes = np.sort((y[second] - y[first]) / (x[second] - x[first]))
    slope = float(np.median(slopes))
    low, high = _interval(slopes, y, confidence)
    flat = y - slope * x
    residuals = flat - np.median(flat)
    level = float(mean) + slope * (len(readings) - 1) + float(np.median(flat))
    return Line(slope, low, high, level, float(np.std(residuals, ddof=2)), y, residuals)


def _interval(slopes: NDArray[np.float64], y: NDArray[np.float64], confidence: float) -> tuple[float, float]:
    """As many slopes in from both ends as Kendall's S may stray by chance."""
    stray = normal_quantile((1 + confidence) / 2) * math.sqrt(kendall_variance(y))
    first = max(0, round((len(slopes) - stray) / 2) - 1)
    last = min(len(slopes) - 1, round((len(slopes) + stray) / 2))
    return float(slopes[first]), float(slopes[last])
