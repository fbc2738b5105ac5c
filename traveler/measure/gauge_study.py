"""Gauge repeatability and reproducibility: how much of the spread of readings is the gauge and who holds it.

Several operators measure several parts several times each. Two ways to divide the spread:

``anova``
    analysis of variance of a crossed design with random effects (AIAG MSA, chapter III; Montgomery). The
    interaction of part and operator is kept apart, or pooled with the repeatability where it cannot be
    told from it.
``average-range``
    from mean ranges and averages (AIAG MSA, average and range method); quick, and without interaction.

Sums of squares and variances are exact; only the probabilities of the F test are floating-point numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache
from math import floor
from typing import Literal, NamedTuple

from traveler.measure.number import Unreadable, square_root

DIGITS = 8
"""Decimals kept of an integral."""

PRINTED = 4
"""Decimals of the factors in printed tables, and kept here, so that a form worked out by hand agrees."""


class RangeMoments(NamedTuple):
    """Mean of the range of standard normal readings, and mean of its square."""

    mean: Fraction
    square: Fraction


@lru_cache(maxsize=256)
def range_moments(count: int) -> RangeMoments:
    """The moments of the range of ``count`` (2 or more) standard normal readings.

    From the density n (n − 1) ∫ φ(x) φ(x + w) (Φ(x + w) − Φ(x))ⁿ⁻² dx of the range w: trapezoids over x,
    which are exact to rounding for what dies off on both sides, Gauss and Legendre's rule over w.
    """
    import numpy as np
    from scipy.special import ndtr

    x, step = np.linspace(-9.0, 9.0, 601, retstep=True)
    nodes, weights = np.polynomial.legendre.leggauss(160)
    width = 8.0 * (nodes[:, None] + 1)
    both = np.exp(-(x**2 + (x + width) ** 2) / 2) / (2 * np.pi)
    density = count * (count - 1) * (both * (ndtr(x + width) - ndtr(x)) ** (count - 2)).sum(axis=1) * step
    means = [8.0 * float(weights @ (density * width[:, 0] ** power)) for power in (1, 2)]
    return RangeMoments(*(Fraction(f"{mean:.{DIGITS}f}") for mean in means))


def spread_of_mean_range(count: int) -> Fraction:
    """1/d2: what turns a mean of many ranges into a standard deviation (K1 of a gauge study)."""
    return round(1 / range_moments(count).mean, PRINTED)


def spread_of_one_range(count: int) -> Fraction:
    """1/d2* for one group: what turns a single range into a standard deviation (K2 and K3)."""
    return round(1 / square_root(range_moments(count).square), PRINTED)


def highest_range(count: int) -> Fraction:
    """D4 = 1 + 3 d3/d2: times the mean range, the range above which something else has happened."""
    moments = range_moments(count)
    return 1 + 3 * square_root(moments.square - moments.mean**2) / moments.mean


@dataclass(frozen=True, slots=True)
class Measured:
    """One reading of a study."""

    part: str
    operator: str
    trial: str
    value: Fraction


@dataclass(frozen=True)
class Design:
    """A crossed, balanced design: (part, operator) → readings in the order of their trials."""

    cells: dict[tuple[str, str], tuple[Fraction, ...]]

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """The parts in the order they came."""
        return tuple(dict.fromkeys(part for part, _ in self.cells))

    @cached_property
    def operators(self) -> tuple[str, ...]:
        """The operators in the order they came."""
        return tuple(dict.fromkeys(operator for _, operator in self.cells))

    @cached_property
    def trials(self) -> int:
        """How often each operator measured each part."""
        return len(next(iter(self.cells.values())))

    def mean(self, *, part: str | None = None, operator: str | None = None) -> Fraction:
        """The mean of all readings, or of those of one part or operator."""
        values = [
            value
            for (of, by), found in self.cells.items()
            if part in (None, of) and operator in (None, by)
            for value in found
        ]
        return sum(values, Fraction(0)) / len(values)


def design_of(readings: Sequence[Measured]) -> Design:
    """The design, if it is complete.

    Raises:
        Unreadable: STU005 fewer than two parts, operators or trials; STU006 some operator measured some part
            more or less often than others, or not at all.
    """
    found: dict[tuple[str, str], list[Measured]] = {}
    for reading in readings:
        found.setdefault((reading.part, reading.operator), []).append(reading)
    parts = list(dict.fromkeys(reading.part for reading in readings))
    operators = list(dict.fromkeys(reading.operator for reading in readings))
    for name, count in (("part", len(parts)), ("operator", len(operators))):
        if count < 2:
            what = f"a study needs two {name}s or more, there are {count}"
            raise Unreadable("STU005", what, "ten parts, three operators and three trials are usual")
    often = max(len(cell) for cell in found.values())
    for part in parts:
        for operator in operators:
            count = len(found.get((part, operator), ()))
            if count != often:
                what = f"operator {operator} measured part {part} {count} times, {often} are expected"
                raise Unreadable(
                    "STU006", what, "measure what is missing: every operator, every part, equally often"
                )
    if often < 2:
        raise Unreadable(
            "STU005", "each part was measured once by each operator", "measure everything once more"
        )
    cells = {(part, operator): found[part, operator] for part in parts for operator in operators}
    return Design({cell: tuple(measured.value for measured in rows) for cell, rows in cells.items()})


@dataclass(frozen=True, slots=True)
class AnovaRow:
    """One source: degrees of freedom, sum of squares; F and its probability p, where there is a test.

    ``f`` is None where what it is held against shows no spread at all.
    """

    source: str
    freedom: int
    squares: Fraction
    f: Fraction | None = None
    p: Fraction | None = None

    @property
    def mean_square(self) -> Fraction:
        """Sum of squares over degrees of freedom."""
        return self.squares / self.freedom


def two_way(design: Design) -> tuple[AnovaRow, ...]:
    """Rows for part, operator, interaction, repeatability and total.

    Parts and operators are taken as random and tested against the interaction, the interaction against the
    repeatability (AIAG MSA, chapter III).
    """
    grand = design.mean()
    parts, operators, trials = len(design.parts), len(design.operators), design.trials
    part = operators * trials * _squares(design.mean(part=text) - grand for text in design.parts)
    operator = parts * trials * _squares(design.mean(operator=text) - grand for text in design.operators)
    between = trials * _squares(sum(cell, Fraction(0)) / trials - grand for cell in design.cells.values())
    total = _squares(value - grand for cell in design.cells.values() for value in cell)
    error = AnovaRow("repeatability", parts * operators * (trials - 1), total - between)
    both = AnovaRow("interaction", (parts - 1) * (operators - 1), between - part - operator)
    return (
        _tested(AnovaRow("part", parts - 1, part), both),
        _tested(AnovaRow("operator", operators - 1, operator), both),
        _tested(both, error),
        error,
        AnovaRow("total", parts * operators * trials - 1, total),
    )


def _squares(values: Iterable[Fraction]) -> Fraction:
    return sum((value * value for value in values), Fraction(0))


def _tested(row: AnovaRow, against: AnovaRow) -> AnovaRow:
    """The row with its F and the probability of as large an F by chance alone."""
    if against.mean_square == 0:
        return row
    from scipy.stats import f

    ratio = row.mean_square / against.mean_square
    chance = Fraction(float(f.sf(float(ratio), row.freedom, against.freedom)))
    return AnovaRow(row.source, row.freedom, row.squares, ratio, chance)


Method = Literal["anova", "average-range"]
METHODS: tuple[Method, ...] = ("anova", "average-range")
Interaction = Literal["auto", "with", "without"]

POOL_ABOVE = Fraction(1, 4)
"""The interaction is pooled when its probability is above this (common practice, no source)."""

STUDY_WIDTH = 6
"""Standard deviations that a spread is reckoned as against a tolerance (AIAG MSA, 4th edition)."""

CATEGORIES = Fraction("1.41")
"""ndc = 1.41 · PV / GRR, cut down to a whole number (AIAG MSA, 4th edition)."""


@dataclass(frozen=True, slots=True)
class Share:
    """One source of spread: its variance, standard deviation, and shares in percent.

    ``of_variation``: of the total standard deviation; ``of_variance``: of the total variance (these add up);
    ``of_tolerance``: ``STUDY_WIDTH`` standard deviations of the tolerance, None where no tolerance is given.
    Percentages of a total of nothing are None.
    """

    name: str
    variance: Fraction
    sd: Fraction
    of_variation: Fraction | None
    of_variance: Fraction | None
    of_tolerance: Fraction | None


@dataclass(frozen=True, slots=True)
class GaugeStudy:
    """The outcome of a study.

    ``shares`` by name: repeatability (EV), reproducibility (AV), operator, interaction, gauge (GRR), part
    (PV), total (TV). ``table`` is the analysis of variance (empty for average-range). ``pooled``: the
    interaction was put to the repeatability. The ranges are those of the average-range method.
    """

    method: Method
    design: Design
    shares: dict[str, Share]
    table: tuple[AnovaRow, ...] = ()
    pooled: bool = False
    mean_range: Fraction | None = None
    operator_range: Fraction | None = None
    part_range: Fraction | None = None

    @property
    def wild(self) -> tuple[tuple[str, str], ...]:
        """(part, operator) whose range is above D4 times the mean range: a slip, or an uneven part."""
        ranges = ranges_of(self.design)
        limit = highest_range(self.design.trials) * sum(ranges.values(), Fraction(0)) / len(ranges)
        return tuple(cell for cell, found in ranges.items() if found > limit)

    @property
    def categories(self) -> int | None:
        """Number of distinct categories (ndc); None where the gauge shows no spread at all."""
        return distinct_categories(self.shares["part"].sd, self.shares["gauge"].sd)

    @property
    def band(self) -> str | None:
        """What the gauge's share in the total variation means; None where nothing varies."""
        share = self.shares["gauge"].of_variation
        return None if share is None else band(share)


def ranges_of(design: Design) -> dict[tuple[str, str], Fraction]:
    """The range of the readings of each part by each operator."""
    return {cell: max(values) - min(values) for cell, values in design.cells.items()}


def distinct_categories(part: Fraction, gauge: Fraction) -> int | None:
    """How many classes of parts the gauge can tell apart, from the standard deviations of both."""
    return floor(CATEGORIES * part / gauge) if gauge else None


def band(percent: Fraction) -> str:
    """What a share of the gauge in the total variation, in percent, means (AIAG MSA, 4th edition)."""
    if percent < 10:
        return "acceptable"
    return "may be acceptable" if percent <= 30 else "not acceptable"


def study(
    design: Design,
    method: Method = "anova",
    *,
    tolerance: Fraction | None = None,
    interaction: Interaction = "auto",
) -> GaugeStudy:
    """The shares of gauge, operators and parts in the spread of a balanced design."""
    if method == "average-range":
        return _average_range(design, tolerance)
    return _anova(design, tolerance, interaction)


def _anova(design: Design, tolerance: Fraction | None, interaction: Interaction) -> GaugeStudy:
    """Expected mean squares of the random two-way model, negative variances taken as 0."""
    parts, operators, trials = len(design.parts), len(design.operators), design.trials
    table = two_way(design)
    part, operator, both, error = table[:4]
    pooled = interaction == "without" or (interaction == "auto" and (both.p or 0) > POOL_ABOVE)
    if pooled:
        error = AnovaRow("repeatability", both.freedom + error.freedom, both.squares + error.squares)
    base = error.mean_square if pooled else both.mean_square
    variances = {
        "repeatability": error.mean_square,
        "interaction": Fraction(0) if pooled else _over(both.mean_square, error.mean_square, trials),
        "operator": _over(operator.mean_square, base, parts * trials),
        "part": _over(part.mean_square, base, operators * trials),
    }
    return GaugeStudy("anova", design, _shares(variances, tolerance), table, pooled)


def _over(mean_square: Fraction, base: Fraction, times: int) -> Fraction:
    return max(mean_square - base, Fraction(0)) / times


def _average_range(design: Design, tolerance: Fraction | None) -> GaugeStudy:
    parts, operators, trials = len(design.parts), len(design.operators), design.trials
    ranges = ranges_of(design)
    mean_range = sum(ranges.values(), Fraction(0)) / len(ranges)
    apart = [design.mean(operator=operator) for operator in design.operators]
    wide = [design.mean(part=part) for part in design.parts]
    repeatability = (mean_range * spread_of_mean_range(trials)) ** 2
    operator_range, part_range = max(apart) - min(apart), max(wide) - min(wide)
    reproducibility = (operator_range * spread_of_one_range(operators)) ** 2 - repeatability / (
        parts * trials
    )
    variances = {
        "repeatability": repeatability,
        "interaction": Fraction(0),
        "operator": max(reproducibility, Fraction(0)),
        "part": (part_range * spread_of_one_range(parts)) ** 2,
    }
    return GaugeStudy(
        "average-range",
        design,
        _shares(variances, tolerance),
        mean_range=mean_range,
        operator_range=operator_range,
        part_range=part_range,
    )


def _shares(variances: dict[str, Fraction], tolerance: Fraction | None) -> dict[str, Share]:
    reproducibility = variances["operator"] + variances["interaction"]
    gauge = variances["repeatability"] + reproducibility
    total = gauge + variances["part"]
    every = {
        "repeatability": variances["repeatability"],
        "reproducibility": reproducibility,
        "operator": variances["operator"],
        "interaction": variances["interaction"],
        "gauge": gauge,
        "part": variances["part"],
        "total": total,
    }
    return {name: _share(name, variance, total, tolerance) for name, variance in every.items()}


def _share(name: str, variance: Fraction, total: Fraction, tolerance: Fraction | None) -> Share:
    sd = square_root(variance)
    return Share(
        name,
        variance,
        sd,
        100 * sd / square_root(total) if total else None,
        100 * variance / total if total else None,
        100 * STUDY_WIDTH * sd / tolerance if tolerance else None,
    )


def expanded_uncertainty(
    found: GaugeStudy,
    *,
    resolution: Fraction = Fraction(0),
    calibration: Fraction = Fraction(0),
    k: Fraction = Fraction(2),
) -> Fraction:
    """The expanded uncertainty of one reading with this gauge in these hands.

    Reproducibility, the calibration's standard uncertainty, and the larger of repeatability and resolution
    (step / √12; both show the same rounding, and only the larger counts: ISO 22514-7, from memory),
    combined as in JCGM 100:2008 5.1.2.

    Args:
        found: the study.
        resolution: the step of the display, in the study's unit.
        calibration: standard uncertainty of the calibration, in the study's unit.
        k: coverage factor.
    """
    repeatability = max(found.shares["repeatability"].variance, resolution**2 / 12)
    return k * square_root(repeatability + found.shares["reproducibility"].variance + calibration**2)
