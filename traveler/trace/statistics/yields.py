"""First-pass yield of checks and operations, and rolled throughput yield."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from traveler.trace.statistics.exact import estimate
from traveler.trace.statistics.proportion import CONFIDENCE, Proportion, proportion
from traveler.trace.statistics.result import Result
from traveler.trace.statistics.wording import percent


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
    for one in tries:
        _note(by_check.setdefault((one.operation, one.check), {}), one)
        _note(by_operation.setdefault(one.operation, {}), one)
        _note(everything, one)
    checks = tuple(
        YieldLine(*where, first_pass=_share(units, confidence)) for where, units in by_check.items()
    )
    operations = tuple(YieldLine(one, None, _share(units, confidence)) for one, units in by_operation.items())
    rolled = math.prod((line.first_pass.share or Fraction() for line in operations), start=Fraction(1))
    interval = _rolled_interval(operations)
    whole = _share(everything, confidence)
    return Yields(
        checks, operations, rolled if operations else None, interval, whole,
        sentence=_sentence(checks, rolled, interval, whole),
    )  # fmt: skip


def _note(units: dict[str, bool], one: FirstTry) -> None:
    units[one.unit] = units.get(one.unit, True) and one.passed


def _share(units: Mapping[str, bool], confidence: Fraction) -> Proportion:
    return proportion(sum(units.values()), len(units), confidence)


def _rolled_interval(operations: tuple[YieldLine, ...]) -> tuple[Decimal, Decimal] | None:
    """Limits of log Π p: each side's distances, from estimate to Wilson limit, add up as squares."""
    if not operations:
        return None
    shares = [float(line.first_pass.share or 0) for line in operations]
    if 0 in shares:
        return Decimal(0), min(line.first_pass.wilson[1] for line in operations)
    middle = math.fsum(math.log(one) for one in shares)
    ends = []
    for end in (0, 1):
        away = [math.log(float(line.first_pass.wilson[end])) for line in operations]
        reach = math.hypot(*(one - math.log(share) for one, share in zip(away, shares, strict=True)))
        ends.append(math.exp(middle + (reach if end else -reach)))
    return estimate(ends[0]), estimate(min(1.0, ends[1]))


def _sentence(
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
