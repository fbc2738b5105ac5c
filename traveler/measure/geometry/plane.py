"""Exact points, the planes fitted to them, and the slopes and angles of these.

Two fits, for two questions. How does this table tilt: heights over a plan, so the deviations are vertical
and the fit is a pair of linear equations, solved exactly. How flat is it: no direction is special, so the
deviations are at right angles to the plane (total least squares, ISO 12781-1).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm

from traveler.measure.number import length, square_root, to_decimals
from traveler.measure.unit_table import PI

Point = tuple[Fraction, Fraction, Fraction]
"""x and y in plan, z the height; all three in one unit."""

Whole = tuple[int, int, int]
"""A point or direction in whole multiples of some fine step: fast, and still exact."""

DIGITS = 60
"""Digits to which the normal of a total least-squares plane is worked out: it is seldom rational."""

_HALVINGS = 8


def whole_steps(points: Sequence[Point]) -> tuple[list[Whole], int]:
    """The points as whole numbers, in their order, and how many steps make one unit."""
    steps = lcm(*(value.denominator for point in points for value in point))
    return [(int(x * steps), int(y * steps), int(z * steps)) for x, y, z in points], steps


def minus(a: Whole, b: Whole) -> Whole:
    """The way from ``b`` to ``a``."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def dot(a: Sequence[int], b: Sequence[int]) -> int:
    """The scalar product, of any length."""
    return sum(x * y for x, y in zip(a, b, strict=True))


def cross(a: Whole, b: Whole) -> Whole:
    """The vector product: at right angles to both, zero if they are parallel."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def reduced(direction: Whole) -> Whole:
    """The same line of direction in smallest whole numbers, the last part that is not zero positive."""
    size = gcd(*direction) or 1
    sign = next((1 if part > 0 else -1 for part in reversed(direction) if part), 1)
    return (sign * direction[0] // size, sign * direction[1] // size, sign * direction[2] // size)


def extent_squared(points: Iterable[Whole], direction: Whole) -> Fraction:
    """The square of how far the points reach along a direction that is not zero, in steps."""
    along = [dot(point, direction) for point in points]
    return Fraction((max(along) - min(along)) ** 2, dot(direction, direction))


@dataclass(frozen=True, slots=True)
class Plane:
    """``z = at + x_slope · x + y_slope · y``, exact."""

    at: Fraction
    x_slope: Fraction
    y_slope: Fraction

    def height(self, x: Fraction, y: Fraction) -> Fraction:
        """The height of the plane above a place in plan."""
        return self.at + self.x_slope * x + self.y_slope * y


def _about_the_mean(points: Sequence[Point]) -> tuple[Point, list[Point]]:
    """The mean point, and how far each point lies from it."""
    x0, y0, z0 = (sum(values, Fraction(0)) / len(points) for values in zip(*points, strict=True))
    return (x0, y0, z0), [(x - x0, y - y0, z - z0) for x, y, z in points]


def fitted_plane(points: Sequence[Point]) -> Plane | None:
    """The plane with the least sum of squared vertical deviations (normal equations, exact).

    None if the places lie on one line in plan, or there are fewer than three: then no one plane is best.
    """
    if not points:
        return None
    (x0, y0, z0), off = _about_the_mean(points)
    xx, xy, yy, xz, yz = (
        sum((part[i] * part[j] for part in off), Fraction(0))
        for i, j in ((0, 0), (0, 1), (1, 1), (0, 2), (1, 2))
    )
    spread = xx * yy - xy * xy
    if spread == 0:
        return None
    x_slope = (xz * yy - yz * xy) / spread
    y_slope = (yz * xx - xz * xy) / spread
    return Plane(z0 - x_slope * x0 - y_slope * y0, x_slope, y_slope)


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
    _, off = _about_the_mean(points)
    way = max(off, key=lambda part: part[0] ** 2 + part[1] ** 2)
    size = way[0] ** 2 + way[1] ** 2
    if size == 0:
        return None
    along = [(x * way[0] + y * way[1]) / size for x, y, _ in off]
    rise = sum((t * part[2] for t, part in zip(along, off, strict=True)), Fraction(0))
    per_way = rise / sum((t * t for t in along), Fraction(0))
    return per_way * way[0] / size, per_way * way[1] / size


def steepest(x_slope: Fraction, y_slope: Fraction) -> Fraction:
    """The slope along the line of steepest rise."""
    return length(x_slope**2 + y_slope**2)


def angle_of_slope(slope: Fraction) -> Fraction:
    """The angle in degrees whose tangent is given, right to 30 decimals; no binary floats.

    The argument is made small by halving the angle (tan φ/2 = tan φ / (1 + √(1 + tan² φ))), then Gregory's
    series converges by more than four digits a term.

    >>> angle_of_slope(Fraction(1))
    Fraction(45, 1)
    """
    small = slope
    for _ in range(_HALVINGS):
        small = to_decimals(small / (1 + square_root(1 + small * small)), 60)
    square, power, total = small * small, small, Fraction(0)
    for odd in range(1, 41, 2):
        total += power / odd if odd % 4 == 1 else -power / odd
        power = to_decimals(power * square, 80)
    return to_decimals(total * 2**_HALVINGS * 180 / PI)


def angle_of_sine(sine: Fraction) -> Fraction:
    """The angle in degrees, within ±90, whose sine is given (within ±1)."""
    rest = square_root(1 - sine * sine)
    if rest == 0:
        return Fraction(90 if sine > 0 else -90)
    return angle_of_slope(sine / rest)


def total_normal(points: Sequence[Point]) -> Whole:
    """The normal of the plane with the least sum of squared distances at right angles to it.

    It is the direction of least scatter: the eigenvector of the scatter matrix that belongs to its smallest
    eigenvalue, right to about ``DIGITS`` digits. Where several directions scatter equally little, one of
    them.
    """
    scatter = _scatter(whole_steps(points)[0])
    return _least_direction(scatter, _smallest_eigenvalue(scatter))


def _scatter(points: Sequence[Whole]) -> list[Whole]:
    """The scatter matrix about the mean, times the square of the count so that it stays whole."""
    count = len(points)
    total = [sum(point[axis] for point in points) for axis in range(3)]
    off = [tuple(count * point[axis] - total[axis] for axis in range(3)) for point in points]
    rows = [[sum(part[i] * part[j] for part in off) for j in range(3)] for i in range(3)]
    return [(row[0], row[1], row[2]) for row in rows]


def _smallest_eigenvalue(matrix: list[Whole]) -> Fraction:
    """The smallest eigenvalue of a symmetric matrix without negative eigenvalues.

    Newton's steps on the characteristic polynomial from zero: below its smallest root that polynomial is
    concave and rising, so the steps climb towards the smallest root and cannot pass it.
    """
    a, b, c = matrix
    square = a[0] + b[1] + c[2]
    linear = a[0] * b[1] - a[1] ** 2 + a[0] * c[2] - a[2] ** 2 + b[1] * c[2] - b[2] ** 2
    constant = dot(a, cross(b, c))
    found = Fraction(0)
    for _ in range(6 * DIGITS):
        value = ((found - square) * found + linear) * found - constant
        rise = (3 * found - 2 * square) * found + linear
        if value == 0 or rise <= 0:
            break
        step = -value / rise
        found = _short(found + step)
        if step * 10**DIGITS <= found:
            break
    return found


def _short(number: Fraction) -> Fraction:
    """The number with ``DIGITS`` and some more significant digits: else they double at every step."""
    if number == 0:
        return number
    size = number.denominator.bit_length() - number.numerator.bit_length()
    scale = Fraction(2) ** (size + 4 * (DIGITS + 20))
    return Fraction(int(number * scale)) / scale


def _least_direction(matrix: list[Whole], value: Fraction) -> Whole:
    """The direction that ``matrix − value`` turns to nothing, in whole numbers of ``DIGITS`` digits."""
    top = max(max(abs(part) for part in row) for row in matrix)
    if top == 0:
        return (0, 0, 1)
    fine = 10**DIGITS
    rows: list[Whole] = []
    for index, row in enumerate(matrix):
        x, y, z = (part - value if index == column else Fraction(part) for column, part in enumerate(row))
        rows.append((round(x * fine / top), round(y * fine / top), round(z * fine / top)))
    normals = [cross(rows[i], rows[j]) for i, j in ((0, 1), (0, 2), (1, 2))]
    best = max(normals, key=lambda normal: dot(normal, normal))
    if dot(best, best) > fine**3:
        return _rounded(best)
    return _square_to(max(rows, key=lambda row: dot(row, row)))


def _square_to(row: Whole) -> Whole:
    """Some direction at right angles to a row, as upright as can be: two scatter equally little."""
    if dot(row, row) < 10**DIGITS:
        return (0, 0, 1)
    flat = row[0] ** 2 + row[1] ** 2
    if flat * 10**DIGITS < row[2] ** 2:
        return (1, 0, 0)
    return _rounded((-row[0] * row[2], -row[1] * row[2], flat))


def _rounded(direction: Whole) -> Whole:
    """The direction scaled so that its largest part has ``DIGITS`` − 20 digits; noise beyond becomes zero."""
    largest = max(abs(part) for part in direction)
    scale = Fraction(10 ** (DIGITS - 20), largest)
    return (round(direction[0] * scale), round(direction[1] * scale), round(direction[2] * scale))
