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

from dataclasses import dataclass
from fractions import Fraction
from math import floor
from typing import Literal

from traveler.measure.anova import AnovaRow, two_way
from traveler.measure.range_factors import highest_range, spread_of_mean_range, spread_of_one_range
from traveler.measure.roots import root
from traveler.measure.study_design import Design

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
    apart = [design.mean(operator=one) for one in design.operators]
    wide = [design.mean(part=one) for one in design.parts]
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
    sd = root(variance)
    return Share(
        name,
        variance,
        sd,
        100 * sd / root(total) if total else None,
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
    return k * root(repeatability + found.shares["reproducibility"].variance + calibration**2)
