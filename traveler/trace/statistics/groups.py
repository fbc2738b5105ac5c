"""Whether gauges, people or any other groups read differently."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from traveler.trace.statistics.exact import Number, estimate, exact_all, scaled
from traveler.trace.statistics.many_comparisons import holm
from traveler.trace.statistics.result import Result
from traveler.trace.statistics.summary import Summary, summarize
from traveler.trace.statistics.variance import VarianceTable, variance_table
from traveler.trace.statistics.wording import chance, counted, listed, short

FEWEST = 3
"""A group with fewer readings is shown but not compared."""
ALPHA = Decimal("0.05")


@dataclass(frozen=True)
class Group(Result):
    """One group against all other readings together.

    ``shift`` is its median minus the median of the others; ``p`` the Mann-Whitney probability (two-sided),
    corrected for the number of groups (Holm). Both None where the group was too small to compare.
    """

    name: str
    summary: Summary
    shift: Fraction | None
    p: Decimal | None

    @property
    def differs(self) -> bool:
        """Whether the difference is more than chance would do."""
        return self.p is not None and self.p < ALPHA


@dataclass(frozen=True)
class GroupComparison(Result):
    """All groups by name. ``p`` (Kruskal-Wallis) judges whether any differs; ``variance`` is shown beside it.

    ``p_spread`` (Brown-Forsythe: Levene's test about the median) says whether the groups scatter
    differently. None where fewer than two groups are large enough.
    """

    groups: tuple[Group, ...]
    compared: int
    p: Decimal | None
    p_spread: Decimal | None
    variance: VarianceTable | None
    sentence: str


def compare_groups(groups: Mapping[str, Sequence[Number]], what: str = "group") -> GroupComparison:
    """Compare readings of one check across gauges, people or machines.

    Ranks carry the judgement, so neither a long tail nor one wild reading decides it. A single group is
    called different only if the comparison of all objects as well.

    Args:
        groups: readings by the name of the group; readings must otherwise be alike (one check, one
        period), else
            the groups may differ for another reason.
        what: the word for a group in the sentence, for example ``gauge``.

    Sources: Kruskal and Wallis 1952; Mann and Whitney 1947; Brown and Forsythe 1974; Holm 1979.
    """
    readings = {name: exact_all(values) for name, values in sorted(groups.items())}
    readings = {name: values for name, values in readings.items() if values}
    large = {name: values for name, values in readings.items() if len(values) >= FEWEST}
    ranked = _whole(large)
    p = _kruskal(ranked)
    p_each = _each(ranked) if p is not None else {}
    found = tuple(_group(name, readings, p_each.get(name), p) for name in readings)
    return GroupComparison(
        found, len(large), p, _spread(ranked) if p is not None else None,
        variance_table(large.values()), _sentence(found, len(large), p, what),
    )  # fmt: skip


def _whole(groups: Mapping[str, Sequence[Fraction]]) -> dict[str, list[float]]:
    """The readings as floats that keep order and ties: whole numbers over a common denominator, centred."""
    flat = [one for values in groups.values() for one in values]
    whole, _ = scaled(flat)
    lowest = min(whole, default=0)
    numbers = iter(whole)
    return {name: [float(next(numbers) - lowest) for _ in values] for name, values in groups.items()}


def _kruskal(groups: Mapping[str, list[float]]) -> Decimal | None:
    from scipy.stats import kruskal

    if len(groups) < 2 or len({one for values in groups.values() for one in values}) < 2:
        return None
    return estimate(float(kruskal(*groups.values()).pvalue))


def _spread(groups: Mapping[str, list[float]]) -> Decimal | None:
    from statistics import median

    middles = {name: median(values) for name, values in groups.items()}
    deviations = [[abs(one - middles[name]) for one in values] for name, values in groups.items()]
    table = variance_table([[Fraction(one) for one in values] for values in deviations])
    return None if table is None else table.p


def _each(groups: Mapping[str, list[float]]) -> dict[str, Decimal]:
    from scipy.stats import mannwhitneyu

    names = list(groups)
    raw = []
    for name in names:
        others = [one for other in names if other != name for one in groups[other]]
        raw.append(estimate(float(mannwhitneyu(groups[name], others, method="asymptotic").pvalue)))
    return dict(zip(names, holm(raw), strict=True))


def _group(
    name: str, readings: Mapping[str, Sequence[Fraction]], p: Decimal | None, p_all: Decimal | None
) -> Group:
    summary = summarize(readings[name])
    assert summary is not None  # noqa: S101 - empty groups were left out
    others = summarize([one for other, values in readings.items() if other != name for one in values])
    if p is None or p_all is None or others is None:
        return Group(name, summary, None, None)
    return Group(name, summary, summary.median - others.median, max(p, p_all))


def _sentence(groups: Sequence[Group], large: int, p: Decimal | None, what: str) -> str:
    if large < 2:
        return f"Only {counted(large, what)} with {FEWEST} readings or more: nothing to compare."
    if p is None:
        return "All readings are equal: nothing to compare."
    different = [group for group in groups if group.differs]
    if not different:
        return f"No {what} reads differently from the others beyond chance ({chance(p)})."
    told = [f"{one.name} by {_signed(one.shift)} ({chance(one.p)})" for one in different if one.p is not None]
    return f"Reads differently from the others (median): {listed(told)}."


def _signed(shift: Fraction | None) -> str:
    return "0" if not shift else f"{'+' if shift > 0 else '-'}{short(abs(shift))}"
