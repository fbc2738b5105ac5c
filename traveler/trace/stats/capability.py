"""Capability: how well the readings fit between their limits, with intervals and with the cautions said."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from traveler.result import Result
from traveler.text import plural
from traveler.trace.stats.control_chart import moving_range_dof, within_sigma
from traveler.trace.stats.numbers import (
    Number,
    chi_square_quantile,
    estimate,
    exact,
    exact_all,
    normal_quantile,
    percent,
    short,
    to_digits,
)
from traveler.trace.stats.proportion import CONFIDENCE, Proportion, proportion
from traveler.trace.stats.summary import Normal, Normality, Summary, normality, serial_correlation, summarize

ENOUGH = 30
"""Readings below which an index is called a first impression (common practice, no source)."""


@dataclass(frozen=True)
class Index(Result):
    """One index with its two-sided interval; None where the limits do not allow it."""

    value: Decimal
    low: Decimal
    high: Decimal


@dataclass(frozen=True)
class Indices(Result):
    """Indices from one estimate of spread.

    ``width`` is (upper − lower)/6σ, ``upper`` (upper − mean)/3σ, ``lower`` (mean − lower)/3σ, ``nearest``
    the smaller of the two, ``target`` the width index with the distance from the target counted as spread
    (Cpm). With σ from all readings they are called Pp and Ppk, with σ within (from moving ranges) Cp and Cpk.
    """

    sigma: Decimal
    dof: Decimal
    width: Index | None
    upper: Index | None
    lower: Index | None
    nearest: Index
    target: Decimal | None


@dataclass(frozen=True)
class Capability(Result):
    """Performance (Pp, Ppk: all variation), capability (Cp, Cpk: variation within), and what to think.

    ``overall`` and ``within`` are None where there is no spread or no limit. ``outside`` counts the
    readings beyond the limits; it needs no distribution. ``expected_outside`` is the share beyond the
    limits if readings are normal with the overall spread. ``stable``
    is False where neighbors resemble each other more than one chance in a hundred allows (a level that
    wanders or drifts), None below eight readings; a control chart finds more and gives more false alarms.
    """

    n: int
    limits: tuple[Fraction | None, Fraction | None]
    overall: Indices | None
    within: Indices | None
    outside: Proportion
    expected_outside: Decimal | None
    normal: Normality
    stable: bool | None
    sentences: tuple[str, ...]


def indices(
    mean: Number,
    sigma: Number,
    *,
    lower: Number | None = None,
    upper: Number | None = None,
    target: Number | None = None,
    n: int,
    dof: float | None = None,
    confidence: Fraction = CONFIDENCE,
) -> Indices:
    """The indices of a process of that mean and spread, known from ``n`` readings.

    Args:
        mean: mean of the readings.
        sigma: their standard deviation, above zero.
        lower: lower limit, or None.
        upper: upper limit, or None; at least one of the two is needed.
        target: the value aimed at, for the target index (needs both limits).
        n: number of readings.
        dof: degrees of freedom of sigma; n − 1 if None.
        confidence: of the two-sided intervals.

    Sources: ISO 22514-2 for the indices; interval of the width index from χ² (exact for normal readings),
    of the one-sided indices by Bissell 1990: k ± z √(1/(9n) + k²/(2ν)).

    Raises:
        ValueError: no limit, or sigma not above zero.
    """
    middle, spread = exact(mean), exact(sigma)
    low, high = (None if bound is None else exact(bound) for bound in (lower, upper))
    if spread <= 0 or (low is None and high is None):
        msg = "an index needs a limit and a spread above zero"
        raise ValueError(msg)
    free = n - 1 if dof is None else dof
    above = None if high is None else _one_sided((high - middle) / (3 * spread), n, free, confidence)
    below = None if low is None else _one_sided((middle - low) / (3 * spread), n, free, confidence)
    width = None if low is None or high is None else (high - low) / (6 * spread)
    sides = [index for index in (above, below) if index is not None]
    return Indices(
        sigma=to_digits(spread), dof=estimate(free),
        width=None if width is None else _width(width, free, confidence),
        upper=above, lower=below, nearest=min(sides, key=lambda side: side.value),
        target=None if width is None or target is None else _target(width, middle, spread, exact(target)),
    )  # fmt: skip


def _width(value: Fraction, dof: float, confidence: Fraction) -> Index:
    tail = (1 - float(confidence)) / 2
    low = math.sqrt(chi_square_quantile(tail, dof) / dof)
    high = math.sqrt(chi_square_quantile(1 - tail, dof) / dof)
    return Index(to_digits(value), estimate(float(value) * low), estimate(float(value) * high))


def _one_sided(value: Fraction, n: int, dof: float, confidence: Fraction) -> Index:
    z = normal_quantile((1 + float(confidence)) / 2)
    half = z * math.sqrt(1 / (9 * n) + float(value) ** 2 / (2 * dof))
    return Index(to_digits(value), estimate(float(value) - half), estimate(float(value) + half))


def _target(width: Fraction, mean: Fraction, sigma: Fraction, target: Fraction) -> Decimal:
    away = (mean - target) / sigma
    return estimate(float(width) / math.sqrt(1 + float(away) ** 2))


def capability(
    values: Sequence[Number],
    *,
    lower: Number | None = None,
    upper: Number | None = None,
    target: Number | None = None,
    confidence: Fraction = CONFIDENCE,
) -> Capability:
    """Judge readings, in the order they were taken, against their limits.

    Never fails for want of readings: what cannot be said is None, and ``sentences`` says why.

    Raises:
        ValueError: neither limit is given.
    """
    readings = exact_all(values)
    low, high = (None if bound is None else exact(bound) for bound in (lower, upper))
    if low is None and high is None:
        msg = "capability needs a limit"
        raise ValueError(msg)
    beyond = sum(
        (low is not None and reading < low) or (high is not None and reading > high) for reading in readings
    )
    summary = summarize(readings)
    overall = within = None
    if summary is not None and summary.sd:
        wanted = {"lower": low, "upper": high, "target": target, "n": summary.n, "confidence": confidence}
        overall = indices(summary.mean, summary.sd, **wanted)  # type: ignore[arg-type]
        sigma = within_sigma(readings)
        dof = moving_range_dof(summary.n)
        within = indices(summary.mean, sigma, **wanted, dof=dof) if sigma else None  # type: ignore[arg-type]
    found = _Found(summary, overall, normality(readings), _stable(readings))
    outside = proportion(beyond, len(readings), confidence)
    return Capability(
        len(readings), (low, high), overall, within, outside, _expected(overall), found.normal, found.stable,
        sentences=_sentences(found, outside, confidence),
    )  # fmt: skip


@dataclass(frozen=True)
class _Found:
    """What the sentences are made from."""

    summary: Summary | None
    overall: Indices | None
    normal: Normality
    stable: bool | None


def _stable(readings: Sequence[Fraction]) -> bool | None:
    p = serial_correlation(readings)
    return None if p is None else p >= Decimal("0.01")


def _expected(overall: Indices | None) -> Decimal | None:
    """The share beyond the limits for normal readings: Φ(−3·index) on each side that has a limit."""
    from traveler.trace.stats.numbers import normal_upper

    if overall is None:
        return None
    sides = [index for index in (overall.upper, overall.lower) if index is not None]
    return estimate(sum(normal_upper(3 * float(side.value)) for side in sides))


def _sentences(found: _Found, outside: Proportion, confidence: Fraction) -> tuple[str, ...]:
    said = [_index_sentence(found, confidence)]
    if found.summary is not None:
        said.append(f"Beyond the limits: {outside.sentence}.")
    if found.overall is not None:
        said.append(found.normal.sentence)
    if found.normal.judgement in (Normal.REFUTED, Normal.DOUBTFUL) and found.overall is not None:
        said.append("The indices assume normal readings; trust the share beyond the limits more.")
    if found.stable is False:
        said.append("The readings are not stable over time, so the indices describe the past only.")
    return tuple(value for value in said if value)


def _index_sentence(found: _Found, confidence: Fraction) -> str:
    if found.summary is None:
        return "No reading."
    n = found.summary.n
    if found.overall is None:
        why = "one reading has no spread" if n == 1 else f"all {n} readings are equal"
        return f"No capability index: {why}."
    best = found.overall.nearest
    said = (
        f"Ppk {short(best.value)} from {plural(n, 'reading')}; "
        f"with {percent(confidence)} confidence between {short(best.low)} and {short(best.high)}"
    )
    return f"{said}: too few for more than a first estimate." if n < ENOUGH else f"{said}."
