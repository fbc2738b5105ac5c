"""The univariate summary, summed exactly."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from traveler.trace.statistics.exact import Number, exact_all, root, rounded, scaled
from traveler.trace.statistics.result import Result

SHOWN = 16


@dataclass(frozen=True)
class Summary(Result):
    """Numbers that describe readings taken in this order; all in the readings' own unit.

    ``mean``, ``variance`` (divisor n − 1) and ``lag1`` (autocorrelation of neighbours) are exact; ``sd``
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
        return super().as_dict() | {"sd": None if self.sd is None else str(rounded(self.sd, SHOWN))}


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
    deviations = [n * one - total for one in whole]
    squares = sum(one * one for one in deviations)
    variance = Fraction(squares, n * n * (n - 1) * scale * scale) if n > 1 else None
    products = sum(a * b for a, b in itertools.pairwise(deviations))
    return Summary(
        n=n,
        mean=Fraction(total, n * scale),
        median=Fraction(in_order[(n - 1) // 2] + in_order[n // 2], 2 * scale),
        smallest=Fraction(in_order[0], scale),
        largest=Fraction(in_order[-1], scale),
        variance=variance,
        sd=None if variance is None else root(variance),
        lag1=Fraction(products, squares) if squares else None,
    )
