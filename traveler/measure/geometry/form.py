"""Form: how far apart two parallel planes or lines must stand to hold all points between them.

Flatness after ISO 12781-1 and straightness after ISO 12780-1 (reference: least squares or minimum zone), the
tolerance zone after ISO 1101. The line through the end points is the older habit of the trade. The minimum
zone is the true one: the least distance over all directions, not a descent from a guess. The distance is
exact, and the two planes or lines really hold all points.

Two planes that hold all points and come no closer touch the points' convex hull: face against corner, or edge
against edge. Faces and pairs of edges of the hull so name every candidate for the narrowest zone. scipy finds
the hull in floating point, yet the answers are exact. The points are first brought to even proportions in
exact arithmetic. The candidates near the least are named by the points they touch, and their directions are
worked out from those points in whole numbers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd
from typing import TYPE_CHECKING

from traveler.measure.geometry.plane import (
    Point,
    Whole,
    cross,
    dot,
    extent_squared,
    minus,
    reduced,
    total_normal,
    whole_steps,
)
from traveler.measure.number import length, square_root

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from scipy.spatial import ConvexHull

    Table = NDArray[np.float64]
    Indices = NDArray[np.signedinteger]

NEAR = 1e-9
"""Candidates this close to the least, in proportion, are all handed on; rounding errors are near 1e-13."""

ROWS = 128
"""Edges compared with all others at a time: bounds the memory."""

Station = tuple[Fraction, Fraction]
"""Distance along the way and height, in one unit."""

Direction = tuple[Fraction, Fraction]


@dataclass(frozen=True, slots=True)
class FlatnessZone:
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


EVEN = FlatnessZone(Fraction(0), (0, 0, 0))
"""The zone of points that one plane holds: fewer than four, on one line, or truly flat."""


def least_squares_flatness(points: Sequence[Point]) -> FlatnessZone:
    """The zone parallel to the plane with the least squared distances (ISO 12781-1, least squares).

    >>> heights = ((0, 0, 0), (9, 0, Fraction("0.1")), (0, 9, Fraction("0.1")), (9, 9, 0))
    >>> least_squares_flatness([(Fraction(x), Fraction(y), Fraction(z)) for x, y, z in heights]).width
    Fraction(1, 10)
    """
    wholes, steps = whole_steps(points)
    if even_proportions(wholes) is None:
        return EVEN
    normal = total_normal(points)
    return FlatnessZone(extent_squared(wholes, normal) / steps**2, reduced(normal))


def minimum_zone_flatness(points: Sequence[Point]) -> FlatnessZone:
    """The narrowest zone of all (ISO 12781-1, minimum zone)."""
    wholes, steps = whole_steps(list(dict.fromkeys(points)))
    columns = even_proportions(wholes)
    if columns is None:
        return EVEN
    squared, normal = min(
        (extent_squared(wholes, normal), normal) for normal in touching_directions(wholes, columns)
    )
    return FlatnessZone(squared / steps**2, normal)


def minimum_zone_straightness(stations: Sequence[Station]) -> Fraction:
    """The distance of the closest two parallel lines that hold the profile (ISO 12780-1, minimum zone).

    One of them lies along a side of the convex hull, the other touches the corner farthest from it.

    >>> minimum_zone_straightness([(Fraction(x), Fraction(z)) for x, z in ((0, 0), (4, 3), (8, 0))])
    Fraction(3, 1)
    """
    corners = convex_hull(stations)
    if len(corners) < 3:
        return Fraction(0)
    sides = zip(corners, corners[1:] + corners[:1], strict=True)
    return length(min(_extent_squared(corners, (a[1] - b[1], b[0] - a[0])) for a, b in sides))


def least_squares_straightness(stations: Sequence[Station]) -> Fraction:
    """The extent of the profile across its least-squares line (ISO 12780-1, least squares)."""
    return length(_extent_squared(stations, _least_squares_normal(stations)))


def end_points_straightness(stations: Sequence[Station]) -> Fraction:
    """The extent of the profile across the line from its first to its last station."""
    first, last = min(stations), max(stations)
    return length(_extent_squared(stations, (first[1] - last[1], last[0] - first[0])))


def _least_squares_normal(stations: Sequence[Station]) -> Direction:
    """The direction across the line with the least squared distances at right angles to it."""
    count = len(stations)
    x0, z0 = (sum((station[axis] for station in stations), Fraction(0)) / count for axis in (0, 1))
    xx = sum(((x - x0) ** 2 for x, _ in stations), Fraction(0))
    zz = sum(((z - z0) ** 2 for _, z in stations), Fraction(0))
    xz = sum(((x - x0) * (z - z0) for x, z in stations), Fraction(0))
    under = xx - zz + square_root((xx - zz) ** 2 + 4 * xz**2)
    if under == 0:
        return (Fraction(1), Fraction(0)) if zz > xx else (Fraction(0), Fraction(1))
    return (-2 * xz / under, Fraction(1))


def convex_hull(stations: Sequence[Station]) -> list[Station]:
    """The corners of the convex hull in turn, exact; stations on a side are left out."""
    ordered = sorted(set(stations))
    if len(ordered) < 3:
        return ordered
    lower, upper = _chain(ordered), _chain(ordered[::-1])
    return lower[:-1] + upper[:-1]


def _chain(ordered: Sequence[Station]) -> list[Station]:
    """The lower side of the hull of stations in order (the upper one if they come in reverse)."""
    chain: list[Station] = []
    for station in ordered:
        while len(chain) > 1 and _turn(chain[-2], chain[-1], station) <= 0:
            chain.pop()
        chain.append(station)
    return chain


def _turn(a: Station, b: Station, c: Station) -> Fraction:
    """Positive if the way from a over b to c turns left."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _extent_squared(stations: Sequence[Station], normal: Direction) -> Fraction:
    along = [x * normal[0] + z * normal[1] for x, z in stations]
    size = normal[0] ** 2 + normal[1] ** 2
    return (max(along) - min(along)) ** 2 / size if size else Fraction(0)


def stepped_heights(slopes: Sequence[Fraction], base: Fraction) -> list[Fraction]:
    """Heights at the ends of a level's steps: running sums of slope × base, from 0 at the start.

    A level of base length ``base`` is moved along by its own length; each slope is rise over run. Comes
    back one longer than what went in. Common practice in scraping and aligning of machine ways, no source.

    >>> stepped_heights([Fraction(1, 1000), Fraction(-1, 1000)], Fraction(200))
    [Fraction(0, 1), Fraction(1, 5), Fraction(0, 1)]
    """
    heights = [Fraction(0)]
    for slope in slopes:
        heights.append(heights[-1] + slope * base)
    return heights


def parallelism(datum: Sequence[Point], feature: Sequence[Point]) -> Fraction:
    """The extent of the feature's points across the least-squares plane of the datum's points.

    Source: ISO 1101 (parallelism zone); the least-squares plane stands in for the touching datum plane of
    ISO 5459.
    """
    wholes, steps = whole_steps(feature)
    return length(extent_squared(wholes, total_normal(datum)) / steps**2)


def line_parallelism(datum: Sequence[Station], feature: Sequence[Station]) -> Fraction:
    """The same for two profiles over one way: across the least-squares line of the datum's stations."""
    return length(_extent_squared(feature, _least_squares_normal(datum)))


@dataclass(frozen=True, slots=True)
class _Column:
    """One number for each point: ``of`` · (point − mean), times the count of points, all whole numbers."""

    values: tuple[int, ...]
    of: Whole

    def without(self, other: _Column) -> _Column:
        """What is left when the share that the other column explains is taken out (Gram and Schmidt)."""
        size, share = dot(other.values, other.values), dot(other.values, self.values)
        values = [size * mine - share * its for mine, its in zip(self.values, other.values, strict=True)]
        x, y, z = (size * mine - share * its for mine, its in zip(self.of, other.of, strict=True))
        step = gcd(x, y, z, *values) or 1
        return _Column(tuple(value // step for value in values), (x // step, y // step, z // step))

    @property
    def top(self) -> int:
        """The largest number of the column, without its sign."""
        return max(abs(value) for value in self.values)


def even_proportions(points: Sequence[Whole]) -> list[_Column] | None:
    """Three columns, at right angles to each other over the points, that say the same as x, y and z.

    None if one plane holds all points, which is found without any rounding. The columns take the tilt out of
    the surface, so that a micrometer of unevenness on a meter of table weighs as much as the meter when the
    hull is looked for. Faces and edges of a hull survive such a change of proportions.
    """
    axes: tuple[Whole, Whole, Whole] = ((1, 0, 0), (0, 1, 0), (0, 0, 1))
    total = [sum(point[axis] for point in points) for axis in range(3)]
    columns = [
        _Column(tuple(len(points) * point[axis] - total[axis] for point in points), of)
        for axis, of in enumerate(axes)
    ]
    kept: list[_Column] = []
    for column in sorted(columns, key=lambda column: -dot(column.values, column.values)):
        left = column
        for before in kept:
            left = left.without(before)
        if not any(left.values):
            return None
        kept.append(left)
    return kept


def touching_directions(points: Sequence[Whole], columns: Sequence[_Column]) -> set[Whole]:
    """The exact directions of all zones that could be the narrowest; ``columns`` as from even_proportions."""
    import numpy as np
    from scipy.spatial import ConvexHull

    table = np.array([[value / column.top for value in column.values] for column in columns]).T
    reach = columns[0].top  # the points' own size: without it, fine steps would shrink to nothing in a float
    back = np.array([[part * reach / column.top for part in column.of] for column in columns])
    hull = ConvexHull(table)
    corners = table[hull.vertices]
    found = [*_faces(hull, corners, back), *_edge_pairs(hull, table, corners, back)]
    limit = min(width for width, _, _ in found) * (1 + NEAR)
    exact = {reduced(_direction(points, a, b)) for width, a, b in found if width <= limit}
    return exact - {(0, 0, 0)}


Candidate = tuple[float, tuple[int, int], tuple[int, int]]
"""A width (all on one scale), and two pairs of points the direction is at right angles to."""


def _direction(points: Sequence[Whole], a: tuple[int, int], b: tuple[int, int]) -> Whole:
    """The direction at right angles to two lines, each given by two points."""
    return cross(minus(points[a[1]], points[a[0]]), minus(points[b[1]], points[b[0]]))


def _widths(normals: Table, corners: Table, back: Table) -> Table:
    """How wide the zones at right angles to these normals are, in the points' own proportions."""
    import numpy as np

    along = corners @ normals.T
    width: Table = (along.max(axis=0) - along.min(axis=0)) / np.linalg.norm(normals @ back, axis=1)
    return width


def _faces(hull: ConvexHull, corners: Table, back: Table) -> Iterator[Candidate]:
    """A zone for each face of the hull, named by two sides of a triangle in it."""
    widths = _widths(hull.equations[:, :3], corners, back)
    for width, (a, b, c) in zip(widths.tolist(), hull.simplices.tolist(), strict=True):
        yield width, (a, b), (a, c)


@dataclass(frozen=True, slots=True)
class Edges:
    """The edges of the hull: ends (points), unit directions, outward normals of the faces on either side.

    Each direction is turned so that it has the first face on its one hand and the second on its other.
    """

    ends: Indices
    way: Table
    first: Table
    second: Table


def _edges(hull: ConvexHull, table: Table) -> Edges:
    """Each edge once; those inside a flat face are there too and do no harm."""
    import numpy as np

    face, corner = np.nonzero(hull.neighbors > np.arange(len(hull.neighbors))[:, None])
    rest = np.array([[1, 2], [0, 2], [0, 1]])[corner]
    ends = np.take_along_axis(hull.simplices[face], rest, axis=1)
    first, second = hull.equations[face, :3], hull.equations[hull.neighbors[face, corner], :3]
    way = table[ends[:, 1]] - table[ends[:, 0]]
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    hand = np.einsum("ij,ij->i", np.cross(first, second), way)
    way[hand < 0] *= -1
    return Edges(ends, way, first, second)


def _edge_pairs(hull: ConvexHull, table: Table, corners: Table, back: Table) -> Iterator[Candidate]:
    """A zone for each pair of edges that two parallel planes can touch from either side.

    The normals of the planes that touch the hull along an edge only fill an arc between the normals of its
    two faces. A pair can be touched from both sides if the direction at right angles to both edges lies in
    the one arc and its opposite in the other. The signs of normal · edge tell, and are read leniently: a
    candidate too many is measured and found wider.
    """
    import numpy as np

    edges = _edges(hull, table)
    first, second = edges.first @ edges.way.T, edges.second @ edges.way.T
    lower = np.minimum(first, -second)
    upper = np.maximum(first, -second)
    for start in range(0, len(edges.way), ROWS):
        rows = slice(start, start + ROWS)
        facing = (lower[rows] >= -NEAR) & (lower[:, rows].T >= -NEAR)
        facing |= (upper[rows] <= NEAR) & (upper[:, rows].T <= NEAR)
        edge, other = np.nonzero(facing)
        edge += start
        normals = np.cross(edges.way[edge], edges.way[other])
        skew = np.linalg.norm(normals, axis=1) > NEAR
        edge, other = edge[skew], other[skew]
        widths = _widths(normals[skew], corners, back)
        ends = zip(edges.ends[edge].tolist(), edges.ends[other].tolist(), strict=True)
        for width, (a, b) in zip(widths.tolist(), ends, strict=True):
            yield width, (a[0], a[1]), (b[0], b[1])
