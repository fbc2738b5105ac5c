"""Correction for many comparisons: the more one looks at, the more chance offers."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

_ONE = Decimal(1)


def holm(probabilities: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """Each probability adjusted so that even one false alarm among all stays as rare as wanted.

    Step down: the smallest times m, the next times m − 1, never falling, at most 1. In the order given.
    Source: Holm 1979. Holds whatever the dependence.

    >>> [str(p) for p in holm([Decimal("0.01"), Decimal("0.04"), Decimal("0.03")])]
    ['0.03', '0.06', '0.06']
    """
    order = sorted(range(len(probabilities)), key=lambda at: probabilities[at])
    adjusted = [_ONE] * len(order)
    highest = Decimal(0)
    for rank, at in enumerate(order):
        highest = max(highest, min(_ONE, probabilities[at] * (len(order) - rank)))
        adjusted[at] = highest
    return tuple(adjusted)


def benjamini_hochberg(probabilities: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """Each probability adjusted to the share of false alarms among all alarms (false discovery rate).

    Step up: the k-th smallest times m/k, never rising from the end. In the order given.
    Source: Benjamini and Hochberg 1995. Holds for independent or positively dependent comparisons.

    >>> [str(p) for p in benjamini_hochberg([Decimal("0.01"), Decimal("0.04"), Decimal("0.03")])]
    ['0.03', '0.04', '0.04']
    """
    order = sorted(range(len(probabilities)), key=lambda at: probabilities[at])
    adjusted = [_ONE] * len(order)
    lowest = _ONE
    for rank in range(len(order), 0, -1):
        at = order[rank - 1]
        lowest = min(lowest, probabilities[at] * len(order) / rank)
        adjusted[at] = lowest
    return tuple(adjusted)
