"""The arithmetic behind ``work_out``: readings with their positions go in, a value in one unit comes out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from traveler.measure import geometry
from traveler.measure.placing import Coordinates, Placed, Spot, differing, place_name, spoken, spots
from traveler.measure.points import Point
from traveler.measure.quantity import same_dimension
from traveler.measure.units import convert_difference, parse_unit
from traveler.measure.unreadable import Unreadable


class Answer(NamedTuple):
    """A value, its unit, the finest step it is known in, and where in words (may be empty)."""

    value: Fraction
    unit: str
    step: Fraction
    where: str = ""


@dataclass(frozen=True)
class Task:
    """Readings of one dimension, what is to be worked out along which positions, and the unit wanted."""

    function: str
    readings: Sequence[Placed]
    along: tuple[str, ...]
    options: Mapping[str, str]
    coordinates: Coordinates
    wanted: str | None

    @cached_property
    def unit(self) -> str:
        """The unit of the first reading; the others are converted to it."""
        return self.readings[0].reading.unit

    @cached_property
    def values(self) -> list[Fraction]:
        """The readings in ``unit``."""
        return [placed.reading.to(self.unit).value for placed in self.readings]

    @cached_property
    def step(self) -> Fraction:
        """The finest last digit of the readings, in ``unit``."""
        quantities = [placed.reading for placed in self.readings]
        return min(
            convert_difference(Fraction(1, 10**one.decimals), one.unit, self.unit) for one in quantities
        )

    def choice(self, option: str, default: str) -> str:
        """What was chosen for an option."""
        return self.options.get(option, default)

    def naming(self, without: str = "") -> tuple[str, ...]:
        """The positions whose values name the places: ``along``, else all of them, else those that differ."""
        every = tuple(name for name, _ in self.readings[0].position)
        for names in (self.along, every, differing(self.readings)):
            kept = tuple(name for name in names if name != without)
            if kept and all(place_name(placed, kept) in self.coordinates for placed in self.readings):
                return kept
        return tuple(name for name in self.along or every if name != without)

    def spots(self, without: str = "") -> list[Spot]:
        """The places of the readings, in the unit of length of the readings (mm for slopes)."""
        unit = self.unit if same_dimension(self.unit, "mm") else "mm"
        return spots(self.readings, self.naming(without), self.coordinates, unit)

    def points(self, without: str = "") -> list[Point]:
        """The readings as heights over their places."""
        self.need_length()
        return [(x, y, z) for (x, y), z in zip(self.spots(without), self.values, strict=True)]

    def need_length(self) -> None:
        """Refuse readings that are no lengths (WRK004)."""
        if not same_dimension(self.unit, "mm"):
            what = f"{self.function} needs lengths; the readings are in {self.unit}"
            raise Unreadable("WRK004", what, "work it out from readings in mm or in")

    def where(self, index: int) -> str:
        """The place of one reading in words."""
        return spoken(self.readings[index], differing(self.readings))

    def extreme(self, *, largest: bool) -> str:
        """The place of the largest or smallest reading."""
        pick = max if largest else min
        return self.where(self.values.index(pick(self.values)))


def _apart(task: Task) -> str:
    """The unit of a difference of two readings: two temperatures in °C lie so many ``delta °C`` apart."""
    return f"delta {task.unit}" if parse_unit(task.unit).kind == "point" else task.unit


def difference(task: Task) -> Answer:
    """First − second, without its sign unless ``sign: kept``."""
    first, second = task.values
    value = geometry.difference(first, second, signed=task.choice("sign", "ignored") == "kept")
    where = f"larger at {task.extreme(largest=True)}" if first != second else ""
    return Answer(value, _apart(task), task.step, where)


def spread(task: Task) -> Answer:
    """Largest − smallest."""
    where = f"largest at {task.extreme(largest=True)}, smallest at {task.extreme(largest=False)}"
    value = geometry.spread(task.values)
    return Answer(value, _apart(task), task.step, where if value else "")


def mean(task: Task) -> Answer:
    """The arithmetic mean; one digit more than the readings."""
    return Answer(geometry.mean(task.values), task.unit, task.step / 10)


def largest(task: Task) -> Answer:
    """The largest reading; with ``sign: ignored`` the largest without its sign."""
    signed = task.choice("sign", "kept") == "kept"
    value = geometry.largest(task.values, signed=signed)
    sizes = task.values if signed else [abs(one) for one in task.values]
    return Answer(value, task.unit, task.step, f"at {task.where(sizes.index(value))}")


def run_out(task: Task) -> Answer:
    """Full indicator movement along a turn; with ``kind: total`` over all sections together."""
    angle = task.along[:1] or tuple(name for name, _ in task.readings[0].position)
    turns: dict[str, list[Fraction]] = {}
    for placed, value in zip(task.readings, task.values, strict=True):
        section = ",".join(at for name, at in placed.position if name not in angle)
        turns.setdefault(section, []).append(value)
    value = geometry.run_out(list(turns.values()), total=task.choice("kind", "circular") == "total")
    return Answer(value, _apart(task), task.step, f"high at {task.extreme(largest=True)}" if value else "")
