"""Analysis of variance of a crossed design of parts and operators, with repeated readings; exact sums."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from traveler.measure.study_design import Design


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
    part = operators * trials * _squares(design.mean(part=one) - grand for one in design.parts)
    operator = parts * trials * _squares(design.mean(operator=one) - grand for one in design.operators)
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
