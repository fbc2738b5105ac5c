"""Flatness: how far apart two parallel planes must stand to hold all points between them.

Source: ISO 12781-1 (reference planes: least squares, minimum zone) and ISO 1101 (flatness tolerance zone),
in our own words. The minimum zone is the true one: the least distance over all directions, not a descent
from a guess. What comes back is the exact distance of two planes that really hold all points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from traveler.measure.plane import total_normal
from traveler.measure.points import Point, Whole, extent_squared, reduced, whole_steps
from traveler.measure.roots import length
from traveler.measure.touching import even_proportions, touching_directions


@dataclass(frozen=True, slots=True)
class Zone:
    """Two parallel planes that hold all points.

    ``squared`` is the exact square of their distance, ``normal`` their direction in smallest whole numbers
    (all zero where one plane holds every point).
    """

    squared: Fraction
    normal: Whole

    @property
    def width(self) -> Fraction:
        """The distance of the planes, in the unit of the points."""
        return length(self.squared)


EVEN = Zone(Fraction(0), (0, 0, 0))
"""The zone of points that one plane holds: fewer than four, on one line, or truly flat."""


def least_squares_flatness(points: Sequence[Point]) -> Zone:
    """The zone parallel to the plane with the least squared distances (ISO 12781-1, least squares).

    >>> from traveler.measure.points import point
    >>> least_squares_flatness([point(0, 0, 0), point(9, 0, "0.1"), point(0, 9, "0.1"), point(9, 9, 0)]).width
    Fraction(1, 10)
    """
    wholes, steps = whole_steps(points)
    if even_proportions(wholes) is None:
        return EVEN
    normal = total_normal(points)
    return Zone(extent_squared(wholes, normal) / steps**2, reduced(normal))


def minimum_zone_flatness(points: Sequence[Point]) -> Zone:
    """The narrowest zone of all (ISO 12781-1, minimum zone)."""
    wholes, steps = whole_steps(list(dict.fromkeys(points)))
    columns = even_proportions(wholes)
    if columns is None:
        return EVEN
    squared, normal = min((extent_squared(wholes, one), one) for one in touching_directions(wholes, columns))
    return Zone(squared / steps**2, normal)
