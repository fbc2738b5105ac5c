"""Levelling on feet: from the heights read at the feet to a turn for each foot.

A bed is stiff: turning its feet tilts and lifts it as a whole, and cannot take a bow or a twist out of it. So
the feet follow the plane fitted to the heights (least squares, vertical deviations, exact), and what the
readings deviate from that plane stays. Source of the fit: normal equations; that feet share one plane is
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from traveler.measure.placing import Spot
from traveler.measure.plane import fitted_plane
from traveler.measure.turning import GRIDS


@dataclass(frozen=True, slots=True)
class Level:
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

    def level(self, plane: Mapping[str, Fraction], goal: Fraction, grid: Fraction | None = None) -> Level:
        """The turns that bring the plane to a height, on a grid of turns if one is given."""
        turns = {place: (goal - height) / self.pitch for place, height in plane.items()}
        if grid is not None:
            turns = {place: round(turn / grid) * grid for place, turn in turns.items()}
        left = {place: height - plane[place] for place, height in self.heights.items()}
        expected = {place: height + turns[place] * self.pitch for place, height in self.heights.items()}
        return Level(turns, goal, left, expected)


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
    feet: Feet, plane: Mapping[str, Fraction], goal: Fraction, good: Callable[[Level], bool]
) -> Level:
    """The level on the coarsest grid of turns that is ``good``; on the finest if none is."""
    found = feet.level(plane, goal)
    for grid in GRIDS:
        found = feet.level(plane, goal, grid)
        if good(found):
            break
    return found
