"""Gauge repeatability and reproducibility: how much of the spread of readings is the gauge and who holds it.

Several operators measure several parts several times each. Two ways to divide the spread:

``anova``
    analysis of variance of a crossed design with random effects (AIAG MSA, chapter III; Montgomery). The
    interaction of part and operator is kept apart, or pooled with the repeatability where it
    cannot be distinguished from it.
``average-range``
    from mean ranges and averages (AIAG MSA, average and range method); quick, and without interaction.

Sums of squares and variances are exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import floor
from typing import Literal

from traveler.measure.distributions import (
    chance_of_ratio,
    highest_range,
    spread_of_mean_range,
    spread_of_one_range,
)
from traveler.measure.number import Unreadable, square_root


@dataclass(frozen=True, slots=True)
class StudyReading:
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


def design_of(readings: Sequence[StudyReading]) -> Design:
    """The design, if it is complete.

    Raises:
        Unreadable: STU005 fewer than two parts, operators or trials; STU006 some operator measured some part
            more or less often than others, or not at all.
    """
    found: dict[tuple[str, str], list[StudyReading]] = {}
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
                hint = "measure what is missing: every operator, every part, equally often"
                raise Unreadable("STU006", what, hint)
    if often < 2:
        what = "each part was measured once by each operator"
        raise Unreadable("STU005", what, "measure everything once more")
    cells = {(part, operator): found[part, operator] for part in parts for operator in operators}
    return Design({cell: tuple(measured.value for measured in rows) for cell, rows in cells.items()})


@dataclass(frozen=True, slots=True)
class AnovaRow:
    """One source: degrees of freedom, sum of squares; F and its probability p, where there is a test.

    ``f`` is None where the row it is compared with shows no spread at all.
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
    part = operators * trials * _squares(design.mean(part=name) - grand for name in design.parts)
    operator = parts * trials * _squares(design.mean(operator=name) - grand for name in design.operators)
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
    ratio = row.mean_square / against.mean_square
    chance = chance_of_ratio(ratio, row.freedom, against.freedom)
    return AnovaRow(row.source, row.freedom, row.squares, ratio, chance)


Method = Literal["anova", "average-range"]
Interaction = Literal["auto", "with", "without"]

POOL_ABOVE = Fraction(1, 4)
"""The interaction is pooled when its probability is above this (common practice, no source)."""

STUDY_WIDTH = 6
"""Standard deviations of a spread that are compared with a tolerance (AIAG MSA, 4th edition)."""

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
        """(part, operator) whose range is above the limit: a slip, or an uneven part."""
        return tuple(cell for cell, found in ranges_of(self.design).items() if found > self.range_limit)

    @property
    def range_limit(self) -> Fraction:
        """D4 times the mean range."""
        ranges = ranges_of(self.design)
        return highest_range(self.design.trials) * sum(ranges.values(), Fraction(0)) / len(ranges)

    @property
    def categories(self) -> int | None:
        """How many classes of parts the gauge can tell apart (ndc); None where it shows no spread at all."""
        part, gauge = self.shares["part"].sd, self.shares["gauge"].sd
        return floor(CATEGORIES * part / gauge) if gauge else None

    @property
    def band(self) -> str | None:
        """What the gauge's share in the variation means (AIAG MSA, 4th edition); None if nothing varies."""
        share = self.shares["gauge"].of_variation
        if share is None or share < 10:
            return None if share is None else "acceptable"
        return "may be acceptable" if share <= 30 else "not acceptable"


def ranges_of(design: Design) -> dict[tuple[str, str], Fraction]:
    """The range of the readings of each part by each operator."""
    return {cell: max(values) - min(values) for cell, values in design.cells.items()}


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
    """The expanded uncertainty of a reading with this gauge by these operators.

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
