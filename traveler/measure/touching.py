"""The directions in which two parallel planes can hold a set of points and come no closer.

Such planes touch the points' convex hull face against corner, or edge against edge (rotating them about
anything less brings them closer). So the faces and pairs of edges of the hull name every candidate for the
narrowest zone.

The hull is looked for by scipy in floating point, but the answers are exact: the points are first brought
to even proportions in exact arithmetic, the candidates that come near the least are named by the points
they touch, and their directions are worked out from those points in whole numbers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import gcd
from typing import TYPE_CHECKING

from traveler.measure.points import Whole, cross, dot, minus, reduced

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


@dataclass(frozen=True, slots=True)
class Column:
    """One number for each point: ``of`` · (point − mean), times the count of points, all whole numbers."""

    values: tuple[int, ...]
    of: Whole

    def without(self, other: Column) -> Column:
        """What is left when the share that the other column explains is taken out (Gram and Schmidt)."""
        size, share = dot(other.values, other.values), dot(other.values, self.values)
        values = [size * mine - share * its for mine, its in zip(self.values, other.values, strict=True)]
        x, y, z = (size * mine - share * its for mine, its in zip(self.of, other.of, strict=True))
        step = gcd(x, y, z, *values) or 1
        return Column(tuple(value // step for value in values), (x // step, y // step, z // step))

    @property
    def top(self) -> int:
        """The largest number of the column, without its sign."""
        return max(abs(value) for value in self.values)


def even_proportions(points: Sequence[Whole]) -> list[Column] | None:
    """Three columns, at right angles to each other over the points, that say the same as x, y and z.

    None if one plane holds all points, which is found without any rounding. The columns take the tilt out of
    the surface, so that a micrometre of unevenness on a metre of table weighs as much as the metre when the
    hull is looked for. Faces and edges of a hull survive such a change of proportions.
    """
    axes: tuple[Whole, Whole, Whole] = ((1, 0, 0), (0, 1, 0), (0, 0, 1))
    total = [sum(one[axis] for one in points) for axis in range(3)]
    columns = [
        Column(tuple(len(points) * one[axis] - total[axis] for one in points), of)
        for axis, of in enumerate(axes)
    ]
    kept: list[Column] = []
    for column in sorted(columns, key=lambda one: -dot(one.values, one.values)):
        left = column
        for before in kept:
            left = left.without(before)
        if not any(left.values):
            return None
        kept.append(left)
    return kept


def touching_directions(points: Sequence[Whole], columns: Sequence[Column]) -> set[Whole]:
    """The exact directions of all zones that could be the narrowest; ``columns`` as from even_proportions."""
    import numpy as np
    from scipy.spatial import ConvexHull

    table = np.array([[value / one.top for value in one.values] for one in columns]).T
    reach = columns[0].top  # the points' own size: without it, fine steps would shrink to nothing in a float
    back = np.array([[part * reach / one.top for part in one.of] for one in columns])
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
        one, other = np.nonzero(facing)
        one += start
        normals = np.cross(edges.way[one], edges.way[other])
        skew = np.linalg.norm(normals, axis=1) > NEAR
        one, other = one[skew], other[skew]
        widths = _widths(normals[skew], corners, back)
        ends = zip(edges.ends[one].tolist(), edges.ends[other].tolist(), strict=True)
        for width, (a, b) in zip(widths.tolist(), ends, strict=True):
            yield width, (a[0], a[1]), (b[0], b[1])
