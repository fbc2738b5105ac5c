"""Whether the level of readings wanders: one verdict for a whole series, false alarms at a known rate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

from traveler.trace.statistics.distributions import normal_upper
from traveler.trace.statistics.exact import Number, estimate, exact_all, scaled

FEWEST = 8


def wandering(values: Sequence[Number]) -> Decimal | None:
    """P(neighbours resemble each other at least this much) if readings, in order, were independent.

    Small where the level drifts, jumps or swings slowly. None below eight readings or where all are equal.

    The mean square of successive differences against the variance: C = 1 − Σ(xᵢ₊₁ − xᵢ)² / 2Σ(xᵢ − x̄)², which
    for independent normal readings is nearly normal about 0 with variance (n − 2)/(n² − 1).
    Sources: von Neumann 1941; Young 1941.
    """
    readings = exact_all(values)
    n = len(readings)
    if n < FEWEST or len(set(readings)) == 1:
        return None
    whole, _ = scaled(readings)
    total = sum(whole)
    squares = sum((n * one - total) ** 2 for one in whole)
    steps = sum((n * (b - a)) ** 2 for a, b in pairwise(whole))
    resemblance = 1 - steps / (2 * squares)
    return estimate(normal_upper(resemblance / math.sqrt((n - 2) / (n * n - 1))))
