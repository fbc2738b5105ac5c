"""Readings compared: between gauges, people and positions, and before and after an adjustment."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from traveler.result import Result
from traveler.text import listed, plural
from traveler.trace.stats.contingency import holm
from traveler.trace.stats.numbers import (
    Number,
    binomial_two_sided,
    chance,
    estimate,
    exact,
    exact_all,
    f_upper,
    percent,
    scaled,
    short,
    student_two_sided,
)
from traveler.trace.stats.proportion import CONFIDENCE, Proportion, proportion
from traveler.trace.stats.summary import Summary, summarize


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
    exact_groups = [group for group in (exact_all(group) for group in groups) if group]
    flat = [value for group in exact_groups for value in group]
    k, n = len(exact_groups), len(flat)
    if k < 2 or n <= k:
        return None
    whole, scale = scaled(flat)
    numbers = iter(whole)
    total = Fraction(sum(whole) ** 2, n)
    of_groups = Fraction()
    for group in exact_groups:
        of_groups += Fraction(sum(next(numbers) for _ in group) ** 2, len(group))
    squares = sum(count * count for count in whole)
    between = (of_groups - total) / scale**2
    within = (squares - of_groups) / scale**2
    f = (between / (k - 1)) / (within / (n - k)) if within else None
    return VarianceTable(
        between, within, k - 1, n - k, f,
        p=None if f is None else estimate(f_upper(float(f), k - 1, n - k)),
        explained=between / (between + within) if between + within else None,
    )  # fmt: skip


FEWEST_IN_GROUP = 3
"""A group with fewer readings is shown but not compared."""
ALPHA = Decimal("0.05")


@dataclass(frozen=True)
class ReadingGroup(Result):
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
        """Whether the difference is significant."""
        return self.p is not None and self.p < ALPHA


@dataclass(frozen=True)
class GroupComparison(Result):
    """All groups by name. ``p`` (Kruskal-Wallis) judges whether any differs; ``variance`` is shown beside it.

    ``p_spread`` (Brown-Forsythe: Levene's test about the median) says whether the groups scatter
    differently. None where fewer than two groups are large enough.
    """

    groups: tuple[ReadingGroup, ...]
    compared: int
    p: Decimal | None
    p_spread: Decimal | None
    variance: VarianceTable | None
    sentence: str


def compare_groups(groups: Mapping[str, Sequence[Number]], what: str = "group") -> GroupComparison:
    """Compare readings of one check across gauges, people or machines.

    Ranks carry the judgment, so neither a long tail nor one wild reading decides it. A single group is
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
    large = {name: values for name, values in readings.items() if len(values) >= FEWEST_IN_GROUP}
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
    flat = [value for values in groups.values() for value in values]
    whole, _ = scaled(flat)
    lowest = min(whole, default=0)
    numbers = iter(whole)
    return {name: [float(next(numbers) - lowest) for _ in values] for name, values in groups.items()}


def _kruskal(groups: Mapping[str, list[float]]) -> Decimal | None:
    from scipy.stats import kruskal

    if len(groups) < 2 or len({value for values in groups.values() for value in values}) < 2:
        return None
    return estimate(float(kruskal(*groups.values()).pvalue))


def _spread(groups: Mapping[str, list[float]]) -> Decimal | None:
    from statistics import median

    middles = {name: median(values) for name, values in groups.items()}
    deviations = [[abs(value - middles[name]) for value in values] for name, values in groups.items()]
    table = variance_table([[Fraction(value) for value in values] for values in deviations])
    return None if table is None else table.p


def _each(groups: Mapping[str, list[float]]) -> dict[str, Decimal]:
    from scipy.stats import mannwhitneyu

    names = list(groups)
    raw = []
    for name in names:
        others = [group for other in names if other != name for group in groups[other]]
        raw.append(estimate(float(mannwhitneyu(groups[name], others, method="asymptotic").pvalue)))
    return dict(zip(names, holm(raw), strict=True))


def _group(
    name: str, readings: Mapping[str, Sequence[Fraction]], p: Decimal | None, p_all: Decimal | None
) -> ReadingGroup:
    summary = summarize(readings[name])
    assert summary is not None  # noqa: S101 - empty groups were left out
    others = summarize([value for other, values in readings.items() if other != name for value in values])
    if p is None or p_all is None or others is None:
        return ReadingGroup(name, summary, None, None)
    return ReadingGroup(name, summary, summary.median - others.median, max(p, p_all))


def _sentence(groups: Sequence[ReadingGroup], large: int, p: Decimal | None, what: str) -> str:
    if large < 2:
        return f"Only {plural(large, what)} with {FEWEST_IN_GROUP} readings or more: nothing to compare."
    if p is None:
        return "All readings are equal: nothing to compare."
    different = [group for group in groups if group.differs]
    if not different:
        return f"No {what} reads differently from the others, more than chance explains ({chance(p)})."
    told = [
        f"{group.name} by {_signed(group.shift)} ({chance(group.p)})"
        for group in different
        if group.p is not None
    ]
    return f"Reads differently from the others (median): {listed(told)}."


def _signed(shift: Fraction | None) -> str:
    return "0" if not shift else f"{'+' if shift > 0 else '-'}{short(abs(shift))}"


FEWEST_PAIRS = 6
"""Pairs below which no test of the shift can reach 5 %: Wilcoxon's smallest two-sided probability is 2/2ⁿ."""
ADJUSTING_ALPHA = Decimal("0.05")


@dataclass(frozen=True)
class AdjustmentEffect(Result):
    """What adjusting did.

    ``shift`` is the median of (after − before); ``p_shift`` Wilcoxon's signed-rank probability, two-sided.
    ``spread_ratio`` is sd after over sd before, ``p_spread`` that of Pitman and Morgan (paired readings).
    ``mended`` counts the pairs out before and in after, ``spoilt`` the reverse, ``p_mended`` is McNemar's
    exact probability. None where there are too few pairs, nothing varies or no limit is known.
    """

    pairs: int
    before: Summary | None
    after: Summary | None
    shift: Fraction | None
    p_shift: Decimal | None
    spread_ratio: Decimal | None
    p_spread: Decimal | None
    in_before: Proportion | None
    in_after: Proportion | None
    mended: int | None
    spoilt: int | None
    p_mended: Decimal | None
    sentence: str


def adjustment_effect(
    pairs: Iterable[tuple[Number, Number]],
    *,
    lower: Number | None = None,
    upper: Number | None = None,
    confidence: Fraction = CONFIDENCE,
) -> AdjustmentEffect:
    """Compare (as found, as left) of the same slots.

    Sources: Wilcoxon 1945; Pitman 1939 and Morgan 1939 (variances of paired readings, by the correlation
    of sum and difference); McNemar 1947, exact binomial form.
    """
    both = [(exact(found), exact(left)) for found, left in pairs]
    before, after = (summarize([pair[at] for pair in both]) for at in (0, 1))
    steps = summarize([left - found for found, left in both])
    limits = _against_limits(both, lower, upper, confidence)
    p_shift = _wilcoxon([left - found for found, left in both])
    found = AdjustmentEffect(
        len(both), before, after, None if steps is None else steps.median, p_shift,
        _ratio(before, after), _pitman_morgan(both), *limits, sentence="",
    )  # fmt: skip
    return AdjustmentEffect(**{**found.__dict__, "sentence": _adjustment_sentence(found)})


def _ratio(before: Summary | None, after: Summary | None) -> Decimal | None:
    if before is None or after is None or not before.sd or after.sd is None:
        return None
    return estimate(float(after.sd / before.sd))


def _wilcoxon(steps: Sequence[Fraction]) -> Decimal | None:
    """Two-sided probability; exact for up to 50 pairs without ties, else the normal approximation."""
    from scipy.stats import wilcoxon

    moved = [step for step in steps if step]
    if len(moved) < FEWEST_PAIRS:
        return None
    scale = math.lcm(*(step.denominator for step in moved))
    ranks = [float(step * scale) for step in moved]
    tied = len({abs(rank) for rank in ranks}) < len(ranks)
    found = wilcoxon(ranks, method="approx") if tied or len(ranks) > 50 else wilcoxon(ranks, method="exact")
    return estimate(min(1.0, float(found.pvalue)))


def _pitman_morgan(both: Sequence[tuple[Fraction, Fraction]]) -> Decimal | None:
    n = len(both)
    sums = summarize([left + found for found, left in both])
    steps = summarize([left - found for found, left in both])
    if n < 3 or sums is None or steps is None or not sums.variance or not steps.variance:
        return None
    product = sum((left + found - sums.mean) * (left - found - steps.mean) for found, left in both) / (n - 1)
    squared = product**2 / (sums.variance * steps.variance)
    if squared >= 1:
        return Decimal(0)
    t = math.sqrt(float(squared) * (n - 2) / float(1 - squared))
    return estimate(student_two_sided(t, n - 2))


def _against_limits(
    both: Sequence[tuple[Fraction, Fraction]],
    lower: Number | None,
    upper: Number | None,
    confidence: Fraction,
) -> tuple[Proportion | None, Proportion | None, int | None, int | None, Decimal | None]:
    if lower is None and upper is None:
        return None, None, None, None, None
    low, high = (None if bound is None else exact(bound) for bound in (lower, upper))

    def inside(reading: Fraction) -> bool:
        return (low is None or reading >= low) and (high is None or reading <= high)

    was, now = [inside(found) for found, _ in both], [inside(left) for _, left in both]
    mended = sum(not a and b for a, b in zip(was, now, strict=True))
    spoilt = sum(a and not b for a, b in zip(was, now, strict=True))
    return (
        proportion(sum(was), len(both), confidence),
        proportion(sum(now), len(both), confidence),
        mended,
        spoilt,
        estimate(binomial_two_sided(spoilt, mended + spoilt)),
    )


def _adjustment_sentence(found: AdjustmentEffect) -> str:
    if not found.pairs:
        return "No reading before and after an adjustment."
    said = [f"{plural(found.pairs, 'pair')}: {_moved(found)}"]
    if found.in_before is not None and found.in_after is not None:
        was, now = found.in_before.share or Fraction(), found.in_after.share or Fraction()
        said.append(f"in the limits {percent(was)} before and {percent(now)} after")
        if found.spoilt:
            said.append(f"{plural(found.spoilt, 'reading')} adjusted out of the limits")
    return f"{'; '.join(said)}."


def _moved(found: AdjustmentEffect) -> str:
    shift = found.shift or Fraction()
    if found.p_shift is None:
        return f"the median moved by {short(shift)}, too few pairs to judge"
    beyond = "" if found.p_shift < ADJUSTING_ALPHA else ", no more than chance allows"
    return f"the median moved by {short(shift)} ({chance(found.p_shift)}){beyond}"
