"""A value from several readings by a named function, with units checked all the way.

``functions`` names the functions and their options; here they are computed. All values are exact, or exact to
thirty decimals.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from traveler.measure.geometry.form import (
    Station,
    end_points_straightness,
    least_squares_flatness,
    least_squares_straightness,
    line_parallelism,
    minimum_zone_flatness,
    minimum_zone_straightness,
    parallelism,
    stepped_heights,
)
from traveler.measure.geometry.functions import FUNCTIONS, option_problems, unit_problem
from traveler.measure.geometry.places import (
    Coordinates,
    PlacedReading,
    Position,
    Task,
    along_the_line,
    differing,
)
from traveler.measure.geometry.plane import Point, angle_of_sine, angle_of_slope, slopes, steepest
from traveler.measure.number import Unreadable, format_number
from traveler.measure.quantity import (
    Quantity,
    convert_difference,
    decimals_of_step,
    parse_quantity,
    parse_unit,
    same_dimension,
)

_FINEST = Fraction(1, 10**12)
"""The finest last digit an answer is shown with."""


class Answer(NamedTuple):
    """A value, its unit, the finest step it is known in, and where in words (may be empty)."""

    value: Fraction
    unit: str
    step: Fraction
    where: str = ""


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """A worked-out value (exact; shown in as many digits as the readings carry) and where, in words."""

    value: Quantity
    where: str = ""


def work_out(
    function: str,
    readings: Sequence[tuple[Position, Quantity]],
    *,
    along: str | None = None,
    options: Mapping[str, str] | None = None,
    coordinates: Coordinates | None = None,
    unit: str | None = None,
) -> WorkedOut:
    """The value of a named function over readings, in ``unit`` if given (usually that of the limits).

    Args:
        function: a name in ``FUNCTIONS``.
        readings: for each reading its positions with their values, and the reading.
        along: the position it runs along, several joined by commas; None: all.
        options: as the function allows.
        coordinates: place → x and y as written (``places``); no unit means mm.
        unit: the unit wanted.

    Raises:
        Unreadable: WRK001 unknown function; WRK002 unknown option or choice; WRK003 wrong number of readings;
            WRK004 readings or unit of a dimension that does not fit; WRK005 a place without coordinates;
            WRK006 a coordinate or side that is not a length; WRK007 places or diagonals from which there is
            no answer.
    """
    chosen = dict(options or {})
    for problem in option_problems(function, chosen):
        raise problem
    placed = [PlacedReading(tuple(position), reading) for position, reading in readings]
    _enough(function, len(placed))
    _one_dimension(function, placed)
    if unit is not None and (wrong_unit := unit_problem(function, placed[0].reading.unit, unit)):
        raise wrong_unit
    names = tuple(name.strip() for name in along.split(",")) if along else ()
    answer = _COMPUTE[function](Task(function, placed, names, chosen, coordinates or {}, unit))
    return WorkedOut(_quantity(answer, unit), answer.where)


def _enough(function: str, count: int) -> None:
    rule = FUNCTIONS[function]
    if count < rule.least or (rule.most is not None and count > rule.most):
        wanted = f"exactly {rule.least}" if rule.most == rule.least else f"at least {rule.least}"
        what = f"{function} needs {wanted} readings, there are {count}"
        raise Unreadable("WRK003", what, "read the missing places")


def _one_dimension(function: str, readings: Sequence[PlacedReading]) -> None:
    first = readings[0].reading.unit
    for placed in readings:
        if not same_dimension(placed.reading.unit, first):
            what = f"{function} cannot mix readings in {first} and {placed.reading.unit}"
            raise Unreadable("WRK004", what, "read again in one unit")


def _quantity(answer: Answer, unit: str | None) -> Quantity:
    """The answer in the unit wanted, written with as many decimals as its finest step needs."""
    target = unit or answer.unit
    found = Quantity(answer.value, answer.unit, "", 0)
    difference = answer.unit.startswith("delta ")
    value = found.difference_to(target).value if difference else found.to(target).value
    decimals = decimals_of_step(max(convert_difference(answer.step, answer.unit, target), _FINEST))
    return Quantity(value, target, f"{format_number(value, decimals)} {target}", decimals)


def _apart(task: Task) -> str:
    """The unit of a difference of two readings: two temperatures in °C lie so many ``delta °C`` apart."""
    return f"delta {task.unit}" if parse_unit(task.unit).kind == "point" else task.unit


def _difference(task: Task) -> Answer:
    """First − second, without its sign unless ``sign: kept``."""
    first, second = task.values
    value = first - second if task.options.get("sign") == "kept" else abs(first - second)
    return Answer(value, _apart(task), task.step, f"larger at {task.largest_at()}" if value else "")


def _spread(task: Task) -> Answer:
    """Largest − smallest (range, ISO 3534-1 2.10)."""
    smallest = min(task.values)
    value = max(task.values) - smallest
    where = f"largest at {task.largest_at()}, smallest at {task.where(task.values.index(smallest))}"
    return Answer(value, _apart(task), task.step, where if value else "")


def _mean(task: Task) -> Answer:
    """The arithmetic mean (ISO 3534-1 2.15); one digit more than the readings."""
    return Answer(sum(task.values, Fraction(0)) / len(task.values), task.unit, task.step / 10)


def _largest(task: Task) -> Answer:
    """The largest reading; with ``sign: ignored`` the largest without its sign (the worst deviation)."""
    ignored = task.options.get("sign") == "ignored"
    sizes = [abs(value) for value in task.values] if ignored else task.values
    value = max(sizes)
    return Answer(value, task.unit, task.step, f"at {task.where(sizes.index(value))}")


def _run_out(task: Task) -> Answer:
    """Full indicator movement over a turn, of several sections the worst; ``kind: total``: over all together.

    Source: ISO 1101, circular and total run-out. The zero of the dial does not matter.
    """
    angle = task.along[:1] or tuple(name for name, _ in task.readings[0].position)
    turns: dict[str, list[Fraction]] = {}
    for placed, reading in zip(task.readings, task.values, strict=True):
        section = ",".join(at for name, at in placed.position if name not in angle)
        turns.setdefault(section, []).append(reading)
    sections = [task.values] if task.options.get("kind") == "total" else turns.values()
    value = max(max(turn) - min(turn) for turn in sections)
    return Answer(value, _apart(task), task.step, f"high at {task.largest_at()}" if value else "")


def _tilt(task: Task) -> Answer:
    """The slope of the least-squares plane: steepest, or along x or y (``toward``, signed).

    It is given in mm/m (in/ft for readings in inches), or as an angle where one is wanted.
    """
    points = task.points()
    found = slopes(points)
    if found is None:
        raise Unreadable("WRK007", "all readings were taken at one place", "a tilt needs two places or more")
    toward = task.options.get("toward", "steepest")
    slope = steepest(*found) if toward == "steepest" else found["xy".index(toward)]
    reach = max(max(values) - min(values) for values in list(zip(*points, strict=True))[:2])
    rises = [x * found[0] + y * found[1] for x, y, _ in points]
    where = f"rises toward {task.where(rises.index(max(rises)))}" if any(found) else ""
    step = task.step / reach
    if task.wants_angle():
        return Answer(angle_of_slope(slope), "deg", angle_of_slope(step), where)
    unit = "in/ft" if task.unit in ("in", "mil", "µin", "ft") else "mm/m"
    value, step = (convert_difference(part, "mm/mm", unit) for part in (slope, step))
    return Answer(value, unit, step, where)


def _flatness(task: Task) -> Answer:
    """The flatness zone; the minimum zone unless ``method: least-squares``."""
    least_squares = task.options.get("method") == "least-squares"
    points = task.points()
    if along_the_line([(x, y) for x, y, _ in points]) is not None:
        raise Unreadable("WRK007", "all points lie on one line in plan", "work out straightness instead")
    zone = least_squares_flatness(points) if least_squares else minimum_zone_flatness(points)
    return Answer(zone.width, task.unit, task.step / 10)


_STRAIGHTNESS = {
    "minimum-zone": minimum_zone_straightness,
    "least-squares": least_squares_straightness,
    "end-points": end_points_straightness,
}


def _straightness(task: Task) -> Answer:
    """The straightness zone of heights along a line, or of a level stepped along it."""
    zone = _STRAIGHTNESS[task.options.get("method", "minimum-zone")]
    places = along_the_line(task.spots())
    if places is None:
        raise Unreadable("WRK007", "the places do not lie on one line", "work out flatness instead")
    if same_dimension(task.unit, "mm/m"):
        stations, step = _stepped(task, places)
        return Answer(zone(stations), "mm", step / 10)
    task.need_length()
    if len(places) < 3:
        raise Unreadable("WRK003", "two heights are always straight", "read a third place between them")
    return Answer(zone(list(zip(places, task.values, strict=True))), task.unit, task.step / 10)


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


def _squareness(task: Task) -> Answer:
    """How unlike the diagonals of a frame are; with its sides, how far it leans over the second side."""
    task.need_length()
    first, second = task.values
    where = f"longer at {task.largest_at()}" if first != second else ""
    if "side_1" not in task.options:
        return Answer(abs(first - second), task.unit, task.step, where)
    width, height = (_side(task, name) for name in ("side_1", "side_2"))
    lean = abs(lean_from_diagonals(first, second, width))
    if lean > height:
        diagonals = " and ".join(str(placed.reading) for placed in task.readings)
        what = f"no frame with these sides has diagonals of {diagonals}"
        raise Unreadable("WRK007", what, "measure the diagonals again, corner to corner")
    if task.wants_angle():
        return Answer(angle_of_sine(lean / height), "deg", angle_of_sine(task.step / (first + second)), where)
    return Answer(lean, task.unit, task.step, where)


def lean_from_diagonals(first: Fraction, second: Fraction, width: Fraction) -> Fraction:
    """How far the upright sides of a frame lean over their height, from its two diagonals.

    For a parallelogram with sides w and h the diagonals obey d₁² − d₂² = 4·w·h·cos φ (law of cosines), and
    the lean is h·cos φ = (d₁² − d₂²) / 4w: exact, and without the height. Positive if the first is the
    longer.

    >>> lean_from_diagonals(Fraction(1001), Fraction(1000), Fraction(800))
    Fraction(2001, 3200)
    """
    return (first**2 - second**2) / (4 * width)


def _side(task: Task, name: str) -> Fraction:
    try:
        side = parse_quantity(task.options[name], "mm").to(task.unit).value
    except (KeyError, Unreadable) as problem:
        what = f"side {task.options.get(name, 'missing')!r} is not a length"
        raise Unreadable("WRK006", what, "give both sides, like [600 mm, 400 mm]") from problem
    if side <= 0:
        raise Unreadable("WRK006", f"side {task.options[name]!r} is not above zero")
    return side


def _parallelism(task: Task) -> Answer:
    """Spread of distances from the datum; with ``datum`` the extent of the rest across the datum's fit."""
    task.need_length()
    if "datum" not in task.options:
        return _spread(task)
    name, datum = _datum_position(task), task.options["datum"]
    base: list[Point] = []
    rest: list[Point] = []
    for point, placed in zip(task.points(without=name), task.readings, strict=True):
        (base if dict(placed.position)[name] == datum else rest).append(point)
    if not rest or len(base) < 2:
        raise Unreadable("WRK003", f"{datum!r} has {len(base)} readings and the rest {len(rest)}; too few")
    return Answer(_across(base, rest), task.unit, task.step / 10)


def _datum_position(task: Task) -> str:
    """The position that the datum is a value of."""
    datum = task.options["datum"]
    for name in (*task.along, *differing(task.readings)):
        if any((name, datum) in tuple(placed.position) for placed in task.readings):
            return name
    what = f"datum {datum!r} is not a value of a position"
    raise Unreadable("WRK002", what, "name one of the position's values")


def _across(base: list[Point], rest: list[Point]) -> Fraction:
    places = along_the_line([(x, y) for x, y, _ in (*base, *rest)])
    if places is None:
        if along_the_line([(x, y) for x, y, _ in base]) is not None:
            what = "the datum's points lie on one line in plan"
            raise Unreadable("WRK007", what, "read the datum at three places")
        return parallelism(base, rest)
    stations = [(at, z) for at, (_, _, z) in zip(places, (*base, *rest), strict=True)]
    return line_parallelism(stations[: len(base)], stations[len(base) :])


_COMPUTE: Mapping[str, Callable[[Task], Answer]] = {
    "difference": _difference,
    "spread": _spread,
    "mean": _mean,
    "largest": _largest,
    "run_out": _run_out,
    "tilt": _tilt,
    "flatness": _flatness,
    "straightness": _straightness,
    "squareness": _squareness,
    "parallelism": _parallelism,
}
