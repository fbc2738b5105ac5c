"""Proportions with their intervals: shares of units, yields, Pareto."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from traveler.result import Result
from traveler.text import listed, plural
from traveler.trace.stats.numbers import beta_quantile, estimate, normal_quantile, percent

CONFIDENCE = Fraction(95, 100)


@dataclass(frozen=True)
class Proportion(Result):
    """``hits`` of ``n``; ``share`` is None without any. Two intervals at the same confidence.

    ``wilson``: the score interval, close to its confidence on average. ``exact``: Clopper-Pearson, never
    below it.
    """

    hits: int
    n: int
    confidence: Fraction
    share: Fraction | None
    wilson: tuple[Decimal, Decimal]
    exact: tuple[Decimal, Decimal]

    @property
    def sentence(self) -> str:
        """``18 of 20 = 90 % (95 % interval 69.9 % to 97.2 %)``."""
        if self.share is None:
            return "none of none"
        low, high = self.wilson
        return (
            f"{self.hits} of {self.n} = {percent(self.share)} "
            f"({percent(self.confidence)} interval {percent(low)} to {percent(high)})"
        )


def proportion(hits: int, n: int, confidence: Fraction = CONFIDENCE) -> Proportion:
    """The share of ``hits`` among ``n`` with two-sided intervals.

    Sources: Wilson 1927 (score interval); Clopper and Pearson 1934 (beta quantiles). Without units, 0 to 1.

    Raises:
        ValueError: hits outside 0..n.

    >>> proportion(0, 20).exact[0], proportion(20, 20).exact[1]
    (Decimal('0'), Decimal('1'))
    """
    if not 0 <= hits <= n:
        msg = f"{hits} of {n} is not a share"
        raise ValueError(msg)
    if n == 0:
        everything = (Decimal(0), Decimal(1))
        return Proportion(0, 0, confidence, None, everything, everything)
    alpha = 1 - float(confidence)
    score, beta = _wilson(hits, n, alpha), _clopper_pearson(hits, n, alpha)
    return Proportion(hits, n, confidence, Fraction(hits, n), wilson=score, exact=beta)


def _wilson(hits: int, n: int, alpha: float) -> tuple[Decimal, Decimal]:
    z = normal_quantile(1 - alpha / 2)
    share = hits / n
    middle = (share + z * z / (2 * n)) / (1 + z * z / n)
    half = z * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    low = Decimal(0) if hits == 0 else estimate(middle - half)
    high = Decimal(1) if hits == n else estimate(middle + half)
    return low, high


def _clopper_pearson(hits: int, n: int, alpha: float) -> tuple[Decimal, Decimal]:
    low = Decimal(0) if hits == 0 else estimate(beta_quantile(alpha / 2, hits, n - hits + 1))
    high = Decimal(1) if hits == n else estimate(beta_quantile(1 - alpha / 2, hits + 1, n - hits))
    return low, high


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
    for kind, count in sorted(counts.items(), key=lambda count: (-count[1], count[0])):
        vital = Fraction(before, total) < MOST
        before += count
        share = proportion(count, total, confidence)
        bars.append(ParetoBar(kind, count, share, Fraction(before, total), vital))
    return Pareto(total, tuple(bars), _pareto_sentence(total, bars))


def _pareto_sentence(total: int, bars: list[ParetoBar]) -> str:
    if not bars:
        return "Nothing to count."
    few = [bar for bar in bars if bar.vital]
    if len(few) == len(bars) and len(bars) > 2:
        return f"{total} in {plural(len(bars), 'kind')}, spread evenly: none stands out."
    share = percent(few[-1].cumulative)
    names = listed([bar.kind for bar in few])
    return f"{names}: {share} of {total}, from {len(few)} of {plural(len(bars), 'kind')}."


@dataclass(frozen=True)
class FirstTry:
    """How one check of one unit went the first time: ``passed`` before any adjustment or rework."""

    unit: str
    operation: str
    check: str
    passed: bool


@dataclass(frozen=True)
class YieldLine(Result):
    """First-pass yield of one check (``check`` set) or of one operation as a whole (``check`` None)."""

    operation: str
    check: str | None
    first_pass: Proportion


@dataclass(frozen=True)
class Yields(Result):
    """Yields of a product.

    A unit passes an operation first time if each of its checks there did. ``rolled`` is the product of the
    operations' first-pass yields, with an interval; ``whole`` counts the units which passed everything
    first time. If the two disagree, failures do not come independently of each other (the same units fail
    again and again). ``rolled`` is None without a unit.
    """

    checks: tuple[YieldLine, ...]
    operations: tuple[YieldLine, ...]
    rolled: Fraction | None
    rolled_interval: tuple[Decimal, Decimal] | None
    whole: Proportion
    sentence: str


def yields(tries: Iterable[FirstTry], confidence: Fraction = CONFIDENCE) -> Yields:
    """Yields from first tries; a check at several positions may come several times and passes if each did.

    Checks and operations keep the order of their first occurrence, which is that of the work.

    Sources: first-pass and rolled throughput yield as in ISO 22400-2 (first pass yield) and common
    practice; the interval of the product by recovery of variances from the Wilson intervals (Zou and
    Donner 2008), on logarithms.
    """
    by_check: dict[tuple[str, str], dict[str, bool]] = {}
    by_operation: dict[str, dict[str, bool]] = {}
    everything: dict[str, bool] = {}
    for attempt in tries:
        _note(by_check.setdefault((attempt.operation, attempt.check), {}), attempt)
        _note(by_operation.setdefault(attempt.operation, {}), attempt)
        _note(everything, attempt)
    checks = tuple(
        YieldLine(*where, first_pass=_share(units, confidence)) for where, units in by_check.items()
    )
    operations = tuple(
        YieldLine(operation, None, _share(units, confidence)) for operation, units in by_operation.items()
    )
    rolled = math.prod((line.first_pass.share or Fraction() for line in operations), start=Fraction(1))
    interval = _rolled_interval(operations)
    whole = _share(everything, confidence)
    return Yields(
        checks, operations, rolled if operations else None, interval, whole,
        sentence=_yields_sentence(checks, rolled, interval, whole),
    )  # fmt: skip


def _note(units: dict[str, bool], first_try: FirstTry) -> None:
    units[first_try.unit] = units.get(first_try.unit, True) and first_try.passed


def _share(units: Mapping[str, bool], confidence: Fraction) -> Proportion:
    return proportion(sum(units.values()), len(units), confidence)


def _rolled_interval(operations: tuple[YieldLine, ...]) -> tuple[Decimal, Decimal] | None:
    """Limits of log Π p: each side's distances, from estimate to Wilson limit, add up as squares."""
    if not operations:
        return None
    shares = [float(line.first_pass.share or 0) for line in operations]
    if 0 in shares:
        return Decimal(0), min(line.first_pass.wilson[1] for line in operations)
    middle = math.fsum(math.log(value) for value in shares)
    ends = []
    for end in (0, 1):
        away = [math.log(float(line.first_pass.wilson[end])) for line in operations]
        reach = math.hypot(*(value - math.log(share) for value, share in zip(away, shares, strict=True)))
        ends.append(math.exp(middle + (reach if end else -reach)))
    return estimate(ends[0]), estimate(min(1.0, ends[1]))


def _yields_sentence(
    checks: tuple[YieldLine, ...],
    rolled: Fraction,
    interval: tuple[Decimal, Decimal] | None,
    whole: Proportion,
) -> str:
    if interval is None:
        return "No first try recorded."
    low, high = interval
    said = (
        f"Rolled throughput yield {percent(rolled)} ({percent(whole.confidence)} interval {percent(low)} to "
        f"{percent(high)}); first time through everything: {whole.sentence}"
    )
    worst = min(checks, key=lambda line: (line.first_pass.share or Fraction(), line.check or ""))
    if worst.first_pass.share == 1:
        return f"{said}."
    where = f"{worst.check} in operation {worst.operation}"
    return f"{said}. Most often caught: {where}, passed first time by {worst.first_pass.sentence}."
