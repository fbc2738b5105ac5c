"""Values worked out from several readings by plain geometry; all exact, or exact to thirty decimals.

Everything here takes and returns bare numbers in one unit; ``work_out`` brings readings into one unit and
names the result's. Form (flatness, straightness) has its own modules.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from traveler.measure.geometry.form import Station, extent_across, least_squares_normal
from traveler.measure.geometry.plane import Point, extent_squared, fitted_plane, total_normal, whole_steps
from traveler.measure.number import length


def gap(first: Fraction, second: Fraction, *, signed: bool = False) -> Fraction:
    """How far two readings lie apart; ``signed``: first − second."""
    return first - second if signed else abs(first - second)


def spread(values: Sequence[Fraction]) -> Fraction:
    """Largest − smallest (range, ISO 3534-1 2.10)."""
    return max(values) - min(values)


def mean(values: Sequence[Fraction]) -> Fraction:
    """The arithmetic mean (ISO 3534-1 2.15)."""
    return sum(values, Fraction(0)) / len(values)


def largest(values: Sequence[Fraction], *, signed: bool = True) -> Fraction:
    """The largest reading; not ``signed``: the largest without its sign (the worst deviation)."""
    return max(values) if signed else max(abs(value) for value in values)


def run_out(turns: Sequence[Sequence[Fraction]], *, total: bool = False) -> Fraction:
    """Full indicator movement over a turn; of several sections the worst, or over all together (``total``).

    Source: ISO 1101, circular and total run-out. The zero of the dial does not matter.

    >>> run_out([[Fraction(0), Fraction(3)], [Fraction(9), Fraction(10)]])
    Fraction(3, 1)
    """
    if total:
        return spread([value for turn in turns for value in turn])
    return max(spread(turn) for turn in turns)


def slopes(points: Sequence[Point]) -> tuple[Fraction, Fraction] | None:
    """Rise over run along x and along y of the least-squares plane (vertical deviations).

    Places that all lie on one line have the slope of the least-squares line, along that line. None if all
    lie on one spot.
    """
    plane = fitted_plane(points)
    if plane is not None:
        return plane.x_slope, plane.y_slope
    if not points:
        return None
    x0, y0, z0 = (mean([point[axis] for point in points]) for axis in range(3))
    far = max(points, key=lambda point: (point[0] - x0) ** 2 + (point[1] - y0) ** 2)
    way = (far[0] - x0, far[1] - y0)
    size = way[0] ** 2 + way[1] ** 2
    if size == 0:
        return None
    along = [((x - x0) * way[0] + (y - y0) * way[1]) / size for x, y, _ in points]
    rise = sum((t * (point[2] - z0) for t, point in zip(along, points, strict=True)), Fraction(0))
    per_way = rise / sum((t * t for t in along), Fraction(0))
    return per_way * way[0] / size, per_way * way[1] / size


def steepest(x_slope: Fraction, y_slope: Fraction) -> Fraction:
    """The slope along the line of steepest rise."""
    return length(x_slope**2 + y_slope**2)


def out_of_square(first: Fraction, second: Fraction, width: Fraction) -> Fraction:
    """How far the upright sides of a frame lean over their height, from its two diagonals.

    For a parallelogram with sides w and h the diagonals obey d₁² − d₂² = 4·w·h·cos φ (law of cosines), and
    the lean is h·cos φ = (d₁² − d₂²) / 4w: exact, and without the height. Positive if the first is the
    longer.

    >>> out_of_square(Fraction(1001), Fraction(1000), Fraction(800))
    Fraction(2001, 3200)
    """
    return (first**2 - second**2) / (4 * width)


def parallelism(datum: Sequence[Point], feature: Sequence[Point]) -> Fraction:
    """The extent of the feature's points across the least-squares plane of the datum's points.

    Source: ISO 1101 (parallelism zone); the least-squares plane stands in for the touching datum plane of
    ISO 5459.
    """
    wholes, steps = whole_steps(feature)
    return length(extent_squared(wholes, total_normal(datum)) / steps**2)


def line_parallelism(datum: Sequence[Station], feature: Sequence[Station]) -> Fraction:
    """The same for two profiles over one way: across the least-squares line of the datum's stations."""
    return extent_across(feature, least_squares_normal(datum))
