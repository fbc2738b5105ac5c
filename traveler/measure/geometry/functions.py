"""The functions by which a definition works values out of readings: names, sources, options, units.

No formula language: each name is a function with a source (``docs/geometry.md``). ``work_out`` computes them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from traveler.measure.number import Unreadable
from traveler.measure.quantity import same_dimension
from traveler.text import did_you_mean


@dataclass(frozen=True, slots=True)
class Function:
    """One named function: what it gives, after which source, from how many readings, with which options.

    ``options`` maps an option to the words it takes; no words: a text of its own (a side, a position value).
    ``gives`` is ``same`` (the readings' dimension), ``apart`` (the same, as a difference), ``length`` or
    ``slope`` (mm/m, or an angle). ``places``: the readings need coordinates (places or a grid).
    """

    says: str
    source: str
    least: int = 1
    most: int | None = None
    options: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    gives: Literal["same", "apart", "length", "slope"] = "same"
    places: bool = False


_SIGN = {"sign": ("kept", "ignored")}
_ZONES = ("minimum-zone", "least-squares")

FUNCTIONS: Mapping[str, Function] = {
    "difference": Function("first − second", "arithmetic", 2, 2, _SIGN, "apart"),
    "spread": Function("largest − smallest", "ISO 3534-1, sample range", 2, gives="apart"),
    "mean": Function("arithmetic mean", "ISO 3534-1, sample mean"),
    "largest": Function("largest reading", "arithmetic", options=_SIGN),
    "run_out": Function(
        "full indicator movement over a turn",
        "ISO 1101, circular and total run-out",
        2,
        options={"kind": ("circular", "total")},
        gives="apart",
    ),
    "tilt": Function(
        "slope of the least-squares plane",
        "normal equations, vertical deviations",
        2,
        options={"toward": ("steepest", "x", "y")},
        gives="slope",
        places=True,
    ),
    "flatness": Function(
        "distance of two parallel planes that hold all points",
        "ISO 1101, ISO 12781-1",
        4,
        options={"method": _ZONES},
        gives="length",
        places=True,
    ),
    "straightness": Function(
        "distance of two parallel lines that hold the profile",
        "ISO 1101, ISO 12780-1",
        2,
        options={"method": (*_ZONES, "end-points")},
        gives="length",
        places=True,
    ),
    "squareness": Function(
        "difference of two diagonals; with the sides, lean over the second side",
        "law of cosines in a parallelogram",
        2,
        2,
        {"side_1": (), "side_2": ()},
        "length",
    ),
    "parallelism": Function(
        "spread of distances, or extent across the least-squares datum",
        "ISO 1101, ISO 5459 (least-squares datum in place of the touching one)",
        2,
        options={"datum": ()},
        gives="length",
    ),
}
"""Name → function, in the order of ``docs/geometry.md``."""

OPTIONS: tuple[str, ...] = tuple(sorted({name for rule in FUNCTIONS.values() for name in rule.options}))
"""Every option that some function takes."""


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
    gives = FUNCTIONS[function].gives
    if gives == "slope":
        fits = same_dimension(unit, "mm/m") or same_dimension(unit, "deg")
    elif gives == "length":
        fits = same_dimension(unit, "mm") or (function == "squareness" and same_dimension(unit, "deg"))
    else:
        degrees = gives == "apart" and same_dimension(unit, "K") and same_dimension(reading, "°C")
        fits = degrees or same_dimension(unit, reading)
    if fits:
        return None
    what = f"{function} of readings in {reading} cannot be given in {unit}"
    return Unreadable("WRK004", what, "check the limits' unit")
