"""One-way analysis of variance, summed exactly."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from traveler.trace.statistics.distributions import f_upper
from traveler.trace.statistics.exact import Number, estimate, exact_all, scaled
from traveler.trace.statistics.result import Result


@dataclass(frozen=True)
class VarianceTable(Result):
    """The table of a one-way analysis. Sums of squares, ``f`` and ``r_squared`` are exact.

    ``f`` and ``p`` are None where nothing varies within the groups. ``explained`` (R²) is the share of all
    variation that lies between the groups, None where nothing varies at all.
    """

    between: Fraction
    within: Fraction
    between_dof: int
    within_dof: int
    f: Fraction | None
    p: Decimal | None
    explained: Fraction | None


def variance_table(groups: Iterable[Iterable[Number]]) -> VarianceTable | None:
    """The analysis of groups of readings; None with fewer than two groups or no reading to spare.

    Certified values of the NIST Statistical Reference Datasets (analysis of variance) are met to every
    printed digit, the ones of higher difficulty included, because nothing is rounded before F.
    """
    exact_groups = [group for group in (exact_all(one) for one in groups) if group]
    flat = [one for group in exact_groups for one in group]
    k, n = len(exact_groups), len(flat)
    if k < 2 or n <= k:
        return None
    whole, scale = scaled(flat)
    numbers = iter(whole)
    total = Fraction(sum(whole) ** 2, n)
    of_groups = Fraction()
    for group in exact_groups:
        of_groups += Fraction(sum(next(numbers) for _ in group) ** 2, len(group))
    squares = sum(one * one for one in whole)
    between = (of_groups - total) / scale**2
    within = (squares - of_groups) / scale**2
    f = (between / (k - 1)) / (within / (n - k)) if within else None
    return VarianceTable(
        between, within, k - 1, n - k, f,
        p=None if f is None else estimate(f_upper(float(f), k - 1, n - k)),
        explained=between / (between + within) if between + within else None,
    )  # fmt: skip
