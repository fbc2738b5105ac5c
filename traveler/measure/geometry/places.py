"""Where readings were taken: the positions they differ in, and their places in plan.

A reading's place is named by the values of the positions it is repeated at. Coordinates are keyed by those
values, joined by commas where there are several (``A``, or ``2,3`` on a grid). A coordinate without a unit is
in mm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from traveler.measure.number import Unreadable, length
from traveler.measure.quantity import Quantity, parse_quantity
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


def place_words(placed: PlacedReading, names: Sequence[str]) -> str:
    """The place as a person reads it: ``spindle 3, end far``; empty if there is only one."""
    return ", ".join(f"{name} {value}" for name, value in placed.position if name in names)


def read_spots(
    readings: Sequence[PlacedReading], names: Sequence[str], coordinates: Coordinates, unit: str
) -> list[Spot]:
    """The places of the readings in plan, in ``unit``.

    Raises:
        Unreadable: WRK005 a place has no coordinates; WRK006 a coordinate cannot be read as a length.
    """
    known: dict[str, Spot] = {}
    for placed in readings:
        key = place_key(placed, names)
        if key not in coordinates:
            raise _unknown_place(key, coordinates)
        if key not in known:
            known[key] = read_spot(key, coordinates[key], unit)
    return [known[place_key(placed, names)] for placed in readings]


def read_spot(place: str, written: tuple[str, str], unit: str) -> Spot:
    """One place in ``unit``, from its written coordinates.

    Raises:
        Unreadable: WRK006.
    """
    x, y = (_coordinate(place, text, unit) for text in written)
    return x, y


def _coordinate(place: str, text: str, unit: str) -> Fraction:
    try:
        return parse_quantity(text, "mm").to(unit).value
    except Unreadable as problem:
        what = f"coordinate {text!r} of {place} is no length: {problem.what}"
        raise Unreadable("WRK006", what, problem.hint) from problem


def _unknown_place(key: str, coordinates: Coordinates) -> Unreadable:
    if not coordinates:
        return Unreadable(
            "WRK005", f"there are no coordinates for {key or 'the readings'}", "give places or a grid"
        )
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
