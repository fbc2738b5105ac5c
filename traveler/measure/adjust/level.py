"""Leveling on feet: from the heights read at the feet to a turn for each foot, as a hand can do it.

A bed is stiff: turning its feet tilts and lifts it as a whole, and cannot take a bow or a twist out of it. So
the feet follow the plane fitted to the heights (least squares, vertical deviations, exact). The deviations of
the readings from that plane stay. Source of the fit: normal equations; that feet share a plane is common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from traveler.measure.adjust.advice import (
    Advice,
    Foot,
    length_in,
    reading_in,
    shown_quantity,
    value_of,
)
from traveler.measure.adjust.screw import GRIDS, opposite, spoken_turns
from traveler.measure.geometry.places import Coordinates, Spot, read_spot
from traveler.measure.geometry.plane import angle_of_slope, fitted_plane, slopes, steepest
from traveler.measure.limits import Limits
from traveler.measure.number import Unreadable, display_number, round_to, to_decimals
from traveler.measure.quantity import Quantity, convert_difference, same_dimension


@dataclass(frozen=True, slots=True)
class LevelledFeet:
    """Turns that level the feet, by place, positive where a foot is raised; heights in one unit.

    ``goal`` is the height of the level plane, ``left`` what each reading keeps as its deviation from it,
    ``expected`` the heights that should be read after these very turns.
    """

    turns: dict[str, Fraction]
    goal: Fraction
    left: dict[str, Fraction]
    expected: dict[str, Fraction]


@dataclass(frozen=True, slots=True)
class Feet:
    """The heights at the feet, where the feet stand, and how far one turn lifts a foot (all in one unit)."""

    heights: Mapping[str, Fraction]
    spots: Mapping[str, Spot]
    pitch: Fraction

    def plane(self) -> dict[str, Fraction] | None:
        """The height of the fitted plane at each foot; None if the feet stand on one line."""
        points = [(*self.spots[place], height) for place, height in self.heights.items()]
        plane = fitted_plane(points)
        if plane is None:
            return None
        return {place: plane.height(*self.spots[place]) for place in self.heights}

    def level(
        self, plane: Mapping[str, Fraction], goal: Fraction, grid: Fraction | None = None
    ) -> LevelledFeet:
        """The turns that bring the plane to a height, on a grid of turns if one is given."""
        turns = {place: (goal - height) / self.pitch for place, height in plane.items()}
        if grid is not None:
            turns = {place: round_to(turn, grid) for place, turn in turns.items()}
        left = {place: height - plane[place] for place, height in self.heights.items()}
        expected = {place: height + turns[place] * self.pitch for place, height in self.heights.items()}
        return LevelledFeet(turns, goal, left, expected)


def least_turning(plane: Mapping[str, Fraction], low: Fraction | None, high: Fraction | None) -> Fraction:
    """The height that takes least turning over all feet, within bounds (None: no bound there).

    The sum of distances is least at the median. With an even number of feet any height between the two middle
    ones is as good: the higher one is taken, so that one foot stays as it is and the others are rather
    raised than lowered.
    """
    goal = sorted(plane.values())[len(plane) // 2]
    if low is not None:
        goal = max(goal, low)
    return goal if high is None else min(goal, high)


def on_a_grid(
    feet: Feet, plane: Mapping[str, Fraction], goal: Fraction, good: Callable[[LevelledFeet], bool]
) -> LevelledFeet:
    """The level on the coarsest grid of turns that is ``good``; on the finest if none is."""
    found = feet.level(plane, goal)
    for grid in GRIDS:
        found = feet.level(plane, goal, grid)
        if good(found):
            break
    return found


RAISES = "clockwise"
"""Which way a foot is turned to raise it where the rule does not say; seen from above."""

DEGREE = Fraction(1, 360)

Judged = Callable[[Mapping[str, Fraction], Fraction], bool]
"""Whether heights meet the limits when these are drawn in to a part (1: as they are)."""


def level_advice(
    values: Mapping[str, str], limits: Limits, places: Coordinates, readings: Mapping[str, Quantity]
) -> Advice:
    """How far to turn each foot so that the plane of the feet is level (``pitch``, ``raises``, ``fixed``).

    Limits of a length with a lower bound hold for every reading; with an upper bound only, for the spread of
    the readings; limits of a slope (mm/m), for the tilt.
    """
    _every_foot(places, readings)
    unit = limits.unit if same_dimension(limits.unit, "mm") else next(iter(readings.values())).unit
    heights = {place: reading_in(readings[place], unit).value for place in places}
    spots = {place: read_spot(place, written, unit) for place, written in places.items()}
    feet = Feet(heights, spots, length_in(value_of(values, "pitch", "level"), "pitch", unit))
    plane = feet.plane()
    if plane is None:
        what, hint = "the feet stand on one line in plan", "level in that direction with one screw"
        raise Unreadable("ADJ005", what, hint)
    judged = _judged(limits, spots, unit)
    decimals = max(reading.decimals for reading in readings.values())
    if judged(heights, Fraction(1)):
        why = f"all readings are within {limits.describe()}"
        return Advice("leave the feet as they are", needed=False, reason=why)
    found = _sensible(feet, plane, _goal(values.get("fixed"), feet, plane, limits), judged)
    raises = values.get("raises") or RAISES
    rows = tuple(_row(place, found, raises, unit, decimals) for place in places)
    return Advice(
        "; ".join(row.text for row in rows),
        amount=sum((abs(row.turns) for row in rows), Fraction(0)),
        unit="turn",
        feet=rows,
        reaches=judged(found.expected, Fraction(1)),
        reason=_reason(found, plane, unit, decimals),
    )


def _every_foot(places: Coordinates, readings: Mapping[str, Quantity]) -> None:
    if len(places) < 3:
        what = f"leveling needs three feet or more, there are {len(places)}"
        raise Unreadable("ADJ005", what, "give all places")
    if missing := [place for place in places if place not in readings]:
        what = f"there is no reading at {', '.join(missing)}"
        raise Unreadable("ADJ004", what, "read every foot, then ask again")
    if unknown := [place for place in readings if place not in places]:
        raise Unreadable("ADJ005", f"there is no foot {', '.join(unknown)}", f"there are {', '.join(places)}")


def _judged(limits: Limits, spots: Mapping[str, Spot], unit: str) -> Judged:
    """How heights at the feet are compared with the limits."""
    upper = Fraction(0) if limits.upper is None else limits.upper
    if same_dimension(limits.unit, "deg"):
        angle = convert_difference(upper, limits.unit, "deg")
        return lambda heights, part: angle_of_slope(_tilt(heights, spots)) <= angle * part
    if same_dimension(limits.unit, "mm/m"):
        slope = convert_difference(upper, limits.unit, "mm/mm")
        return lambda heights, part: _tilt(heights, spots) <= slope * part
    if not same_dimension(limits.unit, unit):
        what = f"limits in {limits.unit} say nothing of heights"
        raise Unreadable("ADJ003", what, "give them in mm or mm/m")
    if limits.lower is None:
        return lambda heights, part: max(heights.values()) - min(heights.values()) <= upper * part
    return lambda heights, part: all(_within(limits, height, part) for height in heights.values())


def _tilt(heights: Mapping[str, Fraction], spots: Mapping[str, Spot]) -> Fraction:
    found = slopes([(*spots[place], height) for place, height in heights.items()])
    return steepest(*found) if found else Fraction(0)


def _within(limits: Limits, height: Fraction, part: Fraction) -> bool:
    if limits.lower is None or limits.upper is None:
        return limits.holds(height)
    middle, half = (limits.upper + limits.lower) / 2, (limits.upper - limits.lower) / 2
    return abs(height - middle) <= half * part


def _goal(fixed: str | None, feet: Feet, plane: Mapping[str, Fraction], limits: Limits) -> Fraction:
    """The height of the level plane: that of the fixed foot, else the one that takes least turning.

    Where the limits hold for every reading, it is kept in the middle half of what they leave to a level
    plane, so that what the readings deviate from it stays inside as well.
    """
    if fixed:
        if fixed not in plane:
            raise Unreadable("ADJ005", f"there is no foot {fixed!r} to keep", f"there are {', '.join(plane)}")
        return plane[fixed]
    left = feet.level(plane, Fraction(0)).left.values()
    if limits.lower is None or not same_dimension(limits.unit, "mm"):
        return least_turning(plane, None, None)
    if limits.upper is None:
        return least_turning(plane, limits.lower - min(left) + abs(limits.lower) / 10, None)
    low, high = limits.lower - min(left), limits.upper - max(left)
    middle, quarter = (low + high) / 2, max(high - low, Fraction(0)) / 4
    return least_turning(plane, middle - quarter, middle + quarter)


def _sensible(feet: Feet, plane: Mapping[str, Fraction], goal: Fraction, judged: Judged) -> LevelledFeet:
    """The coarsest turns that bring the readings well inside, else just inside, else whole degrees."""
    for part in (Fraction(1, 2), Fraction(1)):
        found = on_a_grid(feet, plane, goal, lambda level, part=part: judged(level.expected, part))  # type: ignore[misc]
        if judged(found.expected, part):
            return found
    return feet.level(plane, goal, DEGREE)


def _row(place: str, level: LevelledFeet, raises: str, unit: str, decimals: int) -> Foot:
    turns = level.turns[place]
    expected = shown_quantity(level.expected[place], unit, decimals)
    if turns == 0:
        return Foot(place, turns, "", f"{place}: leave", expected)
    direction = raises if turns > 0 else opposite(raises)
    return Foot(place, turns, direction, f"{place}: turn {spoken_turns(turns)} {direction}", expected)


def _reason(level: LevelledFeet, plane: Mapping[str, Fraction], unit: str, decimals: int) -> str:
    """How the bed lies, and what of it no foot can cure."""
    high, low = max(plane, key=lambda place: plane[place]), min(plane, key=lambda place: plane[place])
    fall = display_number(to_decimals(plane[high] - plane[low], decimals + 1), decimals)
    lies = (
        f"the bed falls {fall} {unit} from {high} to {low}"
        if plane[high] != plane[low]
        else "the bed is level"
    )
    worst = max(level.left, key=lambda place: abs(level.left[place]))
    stays = to_decimals(level.left[worst], decimals + 1)
    if not stays:
        return lies
    side = "above" if stays > 0 else "below"
    off = f"{display_number(abs(stays), decimals)} {unit}"
    return f"{lies}; {worst} lies {off} {side} its plane, which no foot cures"
