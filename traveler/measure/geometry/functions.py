"""The functions behind work_out: readings at their places go in, a value in one unit comes out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

from traveler.measure.geometry import values as geometry
from traveler.measure.geometry.form import (
    Station,
    end_points_straightness,
    least_squares_flatness,
    least_squares_straightness,
    minimum_zone_flatness,
    minimum_zone_straightness,
    stepped_heights,
)
from traveler.measure.geometry.places import (
    Coordinates,
    PlacedReading,
    Spot,
    along_the_line,
    differing,
    place_key,
    place_words,
    read_spots,
)
from traveler.measure.geometry.plane import Point, angle_of_sine, angle_of_slope
from traveler.measure.number import Unreadable
from traveler.measure.quantity import parse_quantity, same_dimension
from traveler.measure.units import convert_difference, parse_unit


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
        quantities = [placed.reading for placed in self.readings]
        return min(
            convert_difference(Fraction(1, 10**quantity.decimals), quantity.unit, self.unit)
            for quantity in quantities
        )

    def choice(self, option: str, default: str) -> str:
        """What was chosen for an option."""
        return self.options.get(option, default)

    def naming(self, without: str = "") -> tuple[str, ...]:
        """The positions whose values name the places: ``along``, else all of them, else those that differ."""
        every = tuple(name for name, _ in self.readings[0].position)
        for names in (self.along, every, differing(self.readings)):
            kept = tuple(name for name in names if name != without)
            if kept and all(place_key(placed, kept) in self.coordinates for placed in self.readings):
                return kept
        return tuple(name for name in self.along or every if name != without)

    def spots(self, without: str = "") -> list[Spot]:
        """The places of the readings, in the unit of length of the readings (mm for slopes)."""
        unit = self.unit if same_dimension(self.unit, "mm") else "mm"
        return read_spots(self.readings, self.naming(without), self.coordinates, unit)

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
        return place_words(self.readings[index], differing(self.readings))

    def extreme(self, *, largest: bool) -> str:
        """The place of the largest or smallest reading."""
        pick = max if largest else min
        return self.where(self.values.index(pick(self.values)))


def _apart(task: Task) -> str:
    """The unit of a difference of two readings: two temperatures in °C lie so many ``delta °C`` apart."""
    return f"delta {task.unit}" if parse_unit(task.unit).kind == "point" else task.unit


def worked_difference(task: Task) -> Answer:
    """First − second, without its sign unless ``sign: kept``."""
    first, second = task.values
    value = geometry.gap(first, second, signed=task.choice("sign", "ignored") == "kept")
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
    sizes = task.values if signed else [abs(value) for value in task.values]
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


FLATNESS = {"minimum-zone": minimum_zone_flatness, "least-squares": least_squares_flatness}
STRAIGHTNESS = {
    "minimum-zone": minimum_zone_straightness,
    "least-squares": least_squares_straightness,
    "end-points": end_points_straightness,
}


def flatness(task: Task) -> Answer:
    """The flatness zone; the minimum zone unless ``method: least-squares``."""
    fit = (
        least_squares_flatness
        if task.choice("method", "minimum-zone") == "least-squares"
        else minimum_zone_flatness
    )
    points = task.points()
    if along_the_line([(x, y) for x, y, _ in points]) is not None:
        raise Unreadable("WRK007", "all points lie on one line in plan", "work out straightness instead")
    return Answer(fit(points).width, task.unit, task.step / 10)


def straightness(task: Task) -> Answer:
    """The straightness zone of heights along a line, or of a level stepped along it."""
    fit = STRAIGHTNESS[task.choice("method", "minimum-zone")]
    places = along_the_line(task.spots())
    if places is None:
        raise Unreadable("WRK007", "the places do not lie on one line", "work out flatness instead")
    if same_dimension(task.unit, "mm/m"):
        stations, step = _stepped(task, places)
        return Answer(fit(stations), "mm", step / 10)
    task.need_length()
    if len(places) < 3:
        raise Unreadable("WRK003", "two heights are always straight", "read a third place between them")
    return Answer(fit(list(zip(places, task.values, strict=True))), task.unit, task.step / 10)


def _stepped(task: Task, places: Sequence[Fraction]) -> tuple[list[Station], Fraction]:
    """Stations in mm from slopes that a level showed, moved along by its own length."""
    rows = sorted(zip(places, task.readings, strict=True), key=lambda row: row[0])
    bases = {after[0] - before[0] for before, after in pairwise(rows)}
    if len(bases) != 1:
        raise Unreadable("WRK007", "the level was not moved in even steps", "step it by its own length")
    base = bases.pop()
    heights = stepped_heights([placed.reading.to("mm/mm").value for _, placed in rows], base)
    step = convert_difference(task.step, task.unit, "mm/mm") * base
    return [(number * base, height) for number, height in enumerate(heights)], step


def tilt(task: Task) -> Answer:
    """The slope of the least-squares plane: steepest, or along x or y (``toward``, signed)."""
    points = task.points()
    found = geometry.slopes(points)
    if found is None:
        raise Unreadable("WRK007", "all readings were taken at one place", "a tilt needs two places or more")
    toward = task.choice("toward", "steepest")
    slope = geometry.steepest(*found) if toward == "steepest" else found["xy".index(toward)]
    reach = max(
        max(point[axis] for point in points) - min(point[axis] for point in points) for axis in (0, 1)
    )
    rises = [x * found[0] + y * found[1] for x, y, _ in points]
    where = f"rises toward {task.where(rises.index(max(rises)))}" if any(found) else ""
    return _inclined(task, slope, task.step / reach, where)


def _inclined(task: Task, slope: Fraction, step: Fraction, where: str) -> Answer:
    """A slope as mm/m (in/ft for readings in inches), or as an angle where one is wanted."""
    if task.wanted and same_dimension(task.wanted, "deg"):
        return Answer(angle_of_slope(slope), "deg", angle_of_slope(step), where)
    unit = "in/ft" if task.unit in ("in", "mil", "µin", "ft") else "mm/m"
    return Answer(
        convert_difference(slope, "mm/mm", unit), unit, convert_difference(step, "mm/mm", unit), where
    )


def squareness(task: Task) -> Answer:
    """How unlike the diagonals of a frame are; with its sides, how far it leans over the second side."""
    task.need_length()
    first, second = task.values
    where = f"longer at {task.extreme(largest=True)}" if first != second else ""
    if "side_1" not in task.options:
        return Answer(abs(first - second), task.unit, task.step, where)
    width, height = (_side(task, name) for name in ("side_1", "side_2"))
    lean = geometry.out_of_square(first, second, width)
    if abs(lean) > height:
        quantity, other = (placed.reading for placed in task.readings)
        what = f"no frame with these sides has diagonals of {quantity} and {other}"
        raise Unreadable("WRK007", what, "measure the diagonals again, corner to corner")
    if task.wanted and same_dimension(task.wanted, "deg"):
        return Answer(
            angle_of_sine(abs(lean) / height), "deg", angle_of_sine(task.step / (first + second)), where
        )
    return Answer(abs(lean), task.unit, task.step, where)


def _side(task: Task, name: str) -> Fraction:
    try:
        side = parse_quantity(task.options[name], "mm").to(task.unit).value
    except (KeyError, Unreadable) as problem:
        what = f"side {task.options.get(name, 'missing')!r} is no length"
        raise Unreadable("WRK006", what, "give both sides, like [600 mm, 400 mm]") from problem
    if side <= 0:
        raise Unreadable("WRK006", f"side {task.options[name]!r} is not above zero")
    return side


def parallelism(task: Task) -> Answer:
    """Spread of distances from the datum; with ``datum`` the extent of the rest across the datum's fit."""
    task.need_length()
    if "datum" not in task.options:
        return spread(task)
    name, datum = _datum_position(task), task.options["datum"]
    rows = list(zip(task.points(without=name), task.readings, strict=True))
    base = [point for point, placed in rows if dict(placed.position)[name] == datum]
    rest = [point for point, placed in rows if dict(placed.position)[name] != datum]
    if not rest or len(base) < 2:
        raise Unreadable("WRK003", f"{datum!r} has {len(base)} readings and the rest {len(rest)}; too few")
    return Answer(_across(base, rest), task.unit, task.step / 10)


def _datum_position(task: Task) -> str:
    """The position that one value of is the datum."""
    datum = task.options["datum"]
    for name in (*task.along, *differing(task.readings)):
        if any((name, datum) in tuple(placed.position) for placed in task.readings):
            return name
    raise Unreadable(
        "WRK002", f"datum {datum!r} is no value of a position", "name one of the position's values"
    )


def _across(base: list[Point], rest: list[Point]) -> Fraction:
    places = along_the_line([(x, y) for x, y, _ in (*base, *rest)])
    if places is None:
        if along_the_line([(x, y) for x, y, _ in base]) is not None:
            raise Unreadable(
                "WRK007", "the datum's points lie on one line in plan", "read the datum at three places"
            )
        return geometry.parallelism(base, rest)
    stations = [(at, z) for at, (_, _, z) in zip(places, (*base, *rest), strict=True)]
    return geometry.line_parallelism(stations[: len(base)], stations[len(base) :])
