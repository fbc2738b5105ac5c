"""Straightness: how far apart two parallel lines must stand to hold a profile between them.

Source: ISO 12780-1 (reference lines: least squares, minimum zone) and ISO 1101 (straightness tolerance
zone), in our own words; the line through the end points is the older habit of the trade. All in exact
numbers.

A profile is a list of stations: distance along the way, height there, in one unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from traveler.measure.roots import length, root

Station = tuple[Fraction, Fraction]
"""Distance along the way and height, in one unit."""

Direction = tuple[Fraction, Fraction]


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
    return length(_extent_squared(stations, least_squares_normal(stations)))


def end_points_straightness(stations: Sequence[Station]) -> Fraction:
    """The extent of the profile across the line from its first to its last station."""
    first, last = min(stations), max(stations)
    return length(_extent_squared(stations, (first[1] - last[1], last[0] - first[0])))


def least_squares_normal(stations: Sequence[Station]) -> Direction:
    """The direction across the line with the least squared distances at right angles to it."""
    count = len(stations)
    x0, z0 = (sum((one[axis] for one in stations), Fraction(0)) / count for axis in (0, 1))
    xx = sum(((x - x0) ** 2 for x, _ in stations), Fraction(0))
    zz = sum(((z - z0) ** 2 for _, z in stations), Fraction(0))
    xz = sum(((x - x0) * (z - z0) for x, z in stations), Fraction(0))
    under = xx - zz + root((xx - zz) ** 2 + 4 * xz**2)
    if under == 0:
        return (Fraction(1), Fraction(0)) if zz > xx else (Fraction(0), Fraction(1))
    return (-2 * xz / under, Fraction(1))


def across(stations: Sequence[Station], normal: Direction) -> Fraction:
    """The extent of the stations across a line whose direction at right angles is given."""
    return length(_extent_squared(stations, normal))


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
    for one in ordered:
        while len(chain) > 1 and _turn(chain[-2], chain[-1], one) <= 0:
            chain.pop()
        chain.append(one)
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
