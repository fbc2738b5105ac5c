"""Readings before an adjustment against those after it, pair by pair."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from traveler.trace.statistics.distributions import binomial_two_sided, student_two_sided
from traveler.trace.statistics.exact import Number, estimate, exact
from traveler.trace.statistics.proportion import CONFIDENCE, Proportion, proportion
from traveler.trace.statistics.result import Result
from traveler.trace.statistics.summary import Summary, summarize
from traveler.trace.statistics.wording import chance, counted, percent, short

FEWEST = 6
"""Pairs below which no test of the shift can reach 5 %: Wilcoxon's smallest two-sided probability is 2/2ⁿ."""
ALPHA = Decimal("0.05")


@dataclass(frozen=True)
class Adjusting(Result):
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


def adjusting(
    pairs: Iterable[tuple[Number, Number]],
    *,
    lower: Number | None = None,
    upper: Number | None = None,
    confidence: Fraction = CONFIDENCE,
) -> Adjusting:
    """Compare (as found, as left) of the same slots.

    Sources: Wilcoxon 1945; Pitman 1939 and Morgan 1939 (variances of paired readings, by the correlation
    of sum and difference); McNemar 1947, exact binomial form.
    """
    both = [(exact(found), exact(left)) for found, left in pairs]
    before, after = (summarize([pair[at] for pair in both]) for at in (0, 1))
    steps = summarize([left - found for found, left in both])
    limits = _against_limits(both, lower, upper, confidence)
    p_shift = _wilcoxon([left - found for found, left in both])
    found = Adjusting(
        len(both), before, after, None if steps is None else steps.median, p_shift,
        _ratio(before, after), _pitman_morgan(both), *limits, sentence="",
    )  # fmt: skip
    return Adjusting(**{**found.__dict__, "sentence": _sentence(found)})


def _ratio(before: Summary | None, after: Summary | None) -> Decimal | None:
    if before is None or after is None or not before.sd or after.sd is None:
        return None
    return estimate(float(after.sd / before.sd))


def _wilcoxon(steps: Sequence[Fraction]) -> Decimal | None:
    """Two-sided probability; exact for up to 50 pairs without ties, else the normal approximation."""
    from scipy.stats import wilcoxon

    moved = [one for one in steps if one]
    if len(moved) < FEWEST:
        return None
    scale = math.lcm(*(one.denominator for one in moved))
    ranks = [float(one * scale) for one in moved]
    tied = len({abs(one) for one in ranks}) < len(ranks)
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
    low, high = (None if one is None else exact(one) for one in (lower, upper))

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


def _sentence(found: Adjusting) -> str:
    if not found.pairs:
        return "No reading before and after an adjustment."
    said = [f"{counted(found.pairs, 'pair')}: {_moved(found)}"]
    if found.in_before is not None and found.in_after is not None:
        was, now = found.in_before.share or Fraction(), found.in_after.share or Fraction()
        said.append(f"in the limits {percent(was)} before and {percent(now)} after")
        if found.spoilt:
            said.append(f"{counted(found.spoilt, 'reading')} adjusted out of the limits")
    return f"{'; '.join(said)}."


def _moved(found: Adjusting) -> str:
    shift = found.shift or Fraction()
    if found.p_shift is None:
        return f"the median moved by {short(shift)}, too few pairs to judge"
    beyond = "" if found.p_shift < ALPHA else ", no more than chance would do"
    return f"the median moved by {short(shift)} ({chance(found.p_shift)}){beyond}"
