"""Pareto: what happens most, in falling order, and how few kinds make most of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from traveler.trace.statistics.proportion import CONFIDENCE, Proportion, proportion
from traveler.trace.statistics.result import Result
from traveler.trace.statistics.wording import counted, listed, percent

MOST = Fraction(80, 100)


@dataclass(frozen=True)
class ParetoBar(Result):
    """One kind: its count and share, the share up to and with it, and whether it is one of the few."""

    kind: str
    count: int
    share: Proportion
    cumulative: Fraction
    vital: bool


@dataclass(frozen=True)
class Pareto(Result):
    """Kinds in falling order of count, equal counts by name. ``vital`` are those that make up four fifths."""

    total: int
    bars: tuple[ParetoBar, ...]
    sentence: str


def pareto(kinds: Iterable[str], confidence: Fraction = CONFIDENCE) -> Pareto:
    """Count the kinds (of findings, of complaints …).

    >>> pareto(["OUT001", "OUT001", "GAU003"]).bars[0].count
    2
    """
    counts = Counter(kinds)
    total = sum(counts.values())
    bars, before = [], 0
    for kind, count in sorted(counts.items(), key=lambda one: (-one[1], one[0])):
        vital = Fraction(before, total) < MOST
        before += count
        share = proportion(count, total, confidence)
        bars.append(ParetoBar(kind, count, share, Fraction(before, total), vital))
    return Pareto(total, tuple(bars), _sentence(total, bars))


def _sentence(total: int, bars: list[ParetoBar]) -> str:
    if not bars:
        return "Nothing to count."
    few = [bar for bar in bars if bar.vital]
    if len(few) == len(bars) and len(bars) > 2:
        return f"{total} in {counted(len(bars), 'kind')}, spread evenly: none stands out."
    share = percent(few[-1].cumulative)
    names = listed([bar.kind for bar in few])
    return f"{names}: {share} of {total}, from {len(few)} of {counted(len(bars), 'kind')}."
