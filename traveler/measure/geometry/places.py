"""Readings where they were taken: the positions they differ in, and their places in plan.

A reading's place is named by the values of the positions it is repeated at. Coordinates are keyed by those
values, joined by commas where there are several (``A``, or ``2,3`` on a grid). A coordinate without a unit is
in mm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from traveler.measure.geometry.plane import Point
from traveler.measure.number import Unreadable, length
from traveler.measure.quantity import Quantity, parse_quantity, same_dimension
from traveler.text import did_you_mean

Position = Sequence[tuple[str, str]]
"""Names and values of the positions of one reading, in the order of the definition."""

Coordinates = Mapping[str, tuple[str, str]]
"""Place → x and y as written, with or without a unit."""

Spot = tuple[Fraction, Fraction]
"""A place in plan: x and y in one unit."""


class PlacedReading(NamedTuple):
    """A reading, and the positions it was taken at: ``(("spindle", "3"), ("end", "far"))``."""

    position: Position
    reading: Quantity


def differing(readings: Sequence[PlacedReading]) -> tuple[str, ...]:
    """The positions whose values are not the same for all readings, in their order."""
    values: dict[str, set[str]] = {}
    for placed in readings:
        for name, value in placed.position:
            values.setdefault(name, set()).add(value)
    return tuple(name for name, seen in values.items() if len(seen) > 1)


def place_key(placed: PlacedReading, names: Sequence[str]) -> str:
    """The place of a reading by the values of these positions: ``2,3``."""
    return ",".join(value for name, value in placed.position if name in names)


def read_spot(place: str, written: tuple[str, str], unit: str) -> Spot:
    """A place in ``unit``, from its written coordinates.

    Raises:
        Unreadable: WRK006 a coordinate cannot be read as a length.
    """
    x, y = (_coordinate(place, text, unit) for text in written)
    return x, y


def _coordinate(place: str, text: str, unit: str) -> Fraction:
    try:
        return parse_quantity(text, "mm").to(unit).value
    except Unreadable as problem:
        what = f"coordinate {text!r} of {place} is not a length: {problem.what}"
        raise Unreadable("WRK006", what, problem.hint) from problem


def _unknown_place(key: str, coordinates: Coordinates) -> Unreadable:
    if not coordinates:
        what = f"there are no coordinates for {key or 'the readings'}"
        return Unreadable("WRK005", what, "give places or a grid")
    return Unreadable("WRK005", f"place {key!r} has no coordinates", did_you_mean(key, coordinates))


def along_the_line(places: Sequence[Spot]) -> list[Fraction] | None:
    """Distances along the line that all places lie on, from its first end; None if they lie on no line."""
    start, end = min(places), max(places)
    way = (end[0] - start[0], end[1] - start[1])
    if any((x - start[0]) * way[1] != (y - start[1]) * way[0] for x, y in places):
        return None
    whole = length(way[0] ** 2 + way[1] ** 2)
    if whole == 0:
        return [Fraction(0)] * len(places)
    return [((x - start[0]) * way[0] + (y - start[1]) * way[1]) / whole for x, y in places]


@dataclass(frozen=True)
class Task:
    """Readings of one dimension, what is to be worked out along which positions, and the unit wanted."""

    function: str
    readings: Sequence[PlacedReading]
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
        return min(reading.last_digit(self.unit) for _, reading in self.readings)

    def wants_angle(self) -> bool:
        """Whether the answer is wanted as an angle."""
        return self.wanted is not None and same_dimension(self.wanted, "deg")

    def names(self, without: str = "") -> tuple[str, ...]:
        """The positions whose values name the places: ``along``, else all of them, else those that differ."""
        every = tuple(name for name, _ in self.readings[0].position)
        for names in (self.along, every, differing(self.readings)):
            kept = tuple(name for name in names if name != without)
            if kept and all(place_key(placed, kept) in self.coordinates for placed in self.readings):
                return kept
        return tuple(name for name in self.along or every if name != without)

    def spots(self, without: str = "") -> list[Spot]:
        """The places of the readings, in the unit of length of the readings (mm for slopes).

        Raises:
            Unreadable: WRK005 a place has no coordinates; WRK006 a coordinate cannot be read as a length.
        """
        unit = self.unit if same_dimension(self.unit, "mm") else "mm"
        names = self.names(without)
        known: dict[str, Spot] = {}
        keys = [place_key(placed, names) for placed in self.readings]
        for key in keys:
            if key not in self.coordinates:
                raise _unknown_place(key, self.coordinates)
            if key not in known:
                known[key] = read_spot(key, self.coordinates[key], unit)
        return [known[key] for key in keys]

    def points(self, without: str = "") -> list[Point]:
        """The readings as heights over their places."""
        self.need_length()
        return [(x, y, z) for (x, y), z in zip(self.spots(without), self.values, strict=True)]

    def need_length(self) -> None:
        """Refuse readings that are not lengths (WRK004)."""
        if not same_dimension(self.unit, "mm"):
            what = f"{self.function} needs lengths; the readings are in {self.unit}"
            raise Unreadable("WRK004", what, "work it out from readings in mm or in")

    def where(self, index: int) -> str:
        """The place of a reading as a person reads it: ``spindle 3, end far``; empty if there is only one."""
        names = differing(self.readings)
        position = self.readings[index].position
        return ", ".join(f"{name} {value}" for name, value in position if name in names)

    def largest_at(self) -> str:
        """The place of the largest reading, in words."""
        return self.where(self.values.index(max(self.values)))
