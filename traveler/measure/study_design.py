"""The readings of a gauge study: every operator measures every part equally often."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from traveler.measure.unreadable import Unreadable


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
    for one in readings:
        found.setdefault((one.part, one.operator), []).append(one)
    parts = list(dict.fromkeys(one.part for one in readings))
    operators = list(dict.fromkeys(one.operator for one in readings))
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
    return Design({cell: tuple(one.value for one in rows) for cell, rows in cells.items()})
