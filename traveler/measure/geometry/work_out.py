"""``work_out``: a value from several readings by a named function, with units checked all the way.

The names and options are those of a product definition (``docs/geometry.md``). No formula language: each
name is a function with a source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from traveler.measure.geometry import functions as worked
from traveler.measure.geometry import functions as worked_form
from traveler.measure.geometry.places import Coordinates, PlacedReading
from traveler.measure.number import Unreadable, format_number
from traveler.measure.quantity import Quantity, same_dimension
from traveler.measure.units import convert_difference
from traveler.text import did_you_mean

__all__ = ["FUNCTIONS", "Function", "WorkedOut", "option_problems", "unit_problem", "work_out"]

MOST_DECIMALS = 12


@dataclass(frozen=True)
class Function:
    """One named function: what it gives, after which source, from how many readings, with which options.

    ``options`` maps an option to the words it takes; no words: a text of its own (a side, a position value).
    ``gives`` is ``same`` (the readings' dimension), ``apart`` (the same, as a difference), ``length`` or
    ``slope`` (mm/m, or an angle).
    """

    says: str
    source: str
    run: Callable[[worked.Task], worked.Answer]
    least: int = 1
    most: int | None = None
    options: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    gives: str = "same"
    places: bool = False
    """Whether the readings need coordinates (places or a grid)."""


_SIGN = {"sign": ("kept", "ignored")}
_ZONES = ("minimum-zone", "least-squares")

FUNCTIONS: Mapping[str, Function] = {
    "difference": Function("first − second", "arithmetic", worked.worked_difference, 2, 2, _SIGN, "apart"),
    "spread": Function("largest − smallest", "ISO 3534-1, sample range", worked.spread, 2, gives="apart"),
    "mean": Function("arithmetic mean", "ISO 3534-1, sample mean", worked.mean),
    "largest": Function("largest reading", "arithmetic", worked.largest, options=_SIGN),
    "run_out": Function(
        "full indicator movement over a turn",
        "ISO 1101, circular and total run-out",
        worked.run_out,
        2,
        options={"kind": ("circular", "total")},
        gives="apart",
    ),
    "tilt": Function(
        "slope of the least-squares plane",
        "normal equations, vertical deviations",
        worked_form.tilt,
        2,
        options={"toward": ("steepest", "x", "y")},
        gives="slope",
        places=True,
    ),
    "flatness": Function(
        "distance of two parallel planes that hold all points",
        "ISO 1101, ISO 12781-1",
        worked_form.flatness,
        4,
        options={"method": _ZONES},
        gives="length",
        places=True,
    ),
    "straightness": Function(
        "distance of two parallel lines that hold the profile",
        "ISO 1101, ISO 12780-1",
        worked_form.straightness,
        2,
        options={"method": (*_ZONES, "end-points")},
        gives="length",
        places=True,
    ),
    "squareness": Function(
        "difference of two diagonals; with the sides, lean over the second side",
        "law of cosines in a parallelogram",
        worked_form.squareness,
        2,
        2,
        {"side_1": (), "side_2": ()},
        gives="length",
    ),
    "parallelism": Function(
        "spread of distances, or extent across the least-squares datum",
        "ISO 1101, ISO 5459 (least-squares datum in place of the touching one)",
        worked_form.parallelism,
        2,
        options={"datum": ()},
        gives="length",
    ),
}
"""Name → function, in the order of ``docs/geometry.md``."""


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """A worked-out value (exact; shown in as many digits as the readings carry) and where, in words."""

    value: Quantity
    where: str = ""


def work_out(
    function: str,
    readings: Sequence[tuple[Sequence[tuple[str, str]], Quantity]],
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
        coordinates: place → x and y as written (``placing``); no unit means mm.
        unit: the unit wanted.

    Raises:
        Unreadable: WRK001 unknown function; WRK002 unknown option or choice; WRK003 wrong number of readings;
            WRK004 readings or unit of a dimension that does not fit; WRK005 a place without coordinates;
            WRK006 a coordinate or side that is no length; WRK007 places or diagonals from which there is
            no answer.
    """
    chosen = dict(options or {})
    problems = option_problems(function, chosen)
    if problems:
        raise problems[0]
    rule = FUNCTIONS[function]
    _count(function, rule, len(readings))
    placed = [PlacedReading(tuple(position), reading) for position, reading in readings]
    _one_dimension(function, placed)
    if unit is not None and (problem := unit_problem(function, placed[0].reading.unit, unit)):
        raise problem
    names = tuple(name.strip() for name in along.split(",")) if along else ()
    answer = rule.run(worked.Task(function, placed, names, chosen, coordinates or {}, unit))
    return WorkedOut(_quantity(answer, unit), answer.where)


def option_problems(function: str, options: Mapping[str, str]) -> list[Unreadable]:
    """What is wrong with a function's name (WRK001) and options (WRK002), before there are readings."""
    rule = FUNCTIONS.get(function)
    if rule is None:
        return [Unreadable("WRK001", f"there is no function {function!r}", did_you_mean(function, FUNCTIONS))]
    problems = []
    for option, value in options.items():
        if option not in rule.options:
            what = f"{function} has no option {option!r}"
            problems.append(Unreadable("WRK002", what, did_you_mean(option, rule.options)))
        elif rule.options[option] and value not in rule.options[option]:
            what = f"{option} of {function} is {value!r}"
            problems.append(Unreadable("WRK002", what, did_you_mean(value, rule.options[option])))
    return problems


def unit_problem(function: str, reading: str, unit: str) -> Unreadable | None:
    """WRK004 if a function of readings in one unit cannot be expressed in the other; else None.

    >>> unit_problem("tilt", "mm", "deg") is None, unit_problem("tilt", "mm", "mm").what
    (True, 'tilt of readings in mm cannot be given in mm')

    Raises:
        Unreadable: UNT002 or UNT004 for a unit that is not known.
    """
    kind = FUNCTIONS[function].gives
    if kind == "slope":
        fits = same_dimension(unit, "mm/m") or same_dimension(unit, "deg")
    elif kind == "length":
        fits = same_dimension(unit, "mm") or (function == "squareness" and same_dimension(unit, "deg"))
    else:
        degrees = kind == "apart" and same_dimension(unit, "K") and same_dimension(reading, "°C")
        fits = degrees or same_dimension(unit, reading)
    if fits:
        return None
    return Unreadable(
        "WRK004", f"{function} of readings in {reading} cannot be given in {unit}", "check the limits' unit"
    )


def _count(function: str, rule: Function, count: int) -> None:
    if count < rule.least or (rule.most is not None and count > rule.most):
        wanted = f"exactly {rule.least}" if rule.most == rule.least else f"at least {rule.least}"
        raise Unreadable(
            "WRK003", f"{function} needs {wanted} readings, there are {count}", "read the missing places"
        )


def _one_dimension(function: str, readings: Sequence[PlacedReading]) -> None:
    first = readings[0].reading.unit
    for placed in readings:
        if not same_dimension(placed.reading.unit, first):
            what = f"{function} cannot mix readings in {first} and {placed.reading.unit}"
            raise Unreadable("WRK004", what, "read again in one unit")


def _quantity(answer: worked.Answer, unit: str | None) -> Quantity:
    """The answer in the unit wanted, written with as many decimals as its finest step needs."""
    target = unit or answer.unit
    point = Quantity(answer.value, answer.unit, "", 0)
    difference = answer.unit.startswith("delta ")
    value = point.difference_to(target).value if difference else point.to(target).value
    step = convert_difference(answer.step, answer.unit, target)
    decimals = 0
    while Fraction(1, 10**decimals) > step and decimals < MOST_DECIMALS:
        decimals += 1
    return Quantity(value, target, f"{format_number(value, decimals)} {target}", decimals)
