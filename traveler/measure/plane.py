"""Planes fitted by least squares to points with exact coordinates.

Two fits, for two questions. How does this table tilt: heights over a plan, so the deviations are vertical
and the fit is a pair of linear equations, solved exactly. How flat is it: no direction is special, so the
deviations are at right angles to the plane (total least squares, ISO 12781-1).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from traveler.measure.points import Point, Whole, cross, dot, whole_steps

DIGITS = 60
"""Digits to which the normal of a total least-squares plane is worked out: it is seldom rational."""


@dataclass(frozen=True, slots=True)
class Plane:
    """``z = at + x_slope · x + y_slope · y``, exact."""

    at: Fraction
    x_slope: Fraction
    y_slope: Fraction

    def height(self, x: Fraction, y: Fraction) -> Fraction:
        """The height of the plane above a place in plan."""
        return self.at + self.x_slope * x + self.y_slope * y


def fitted_plane(points: Sequence[Point]) -> Plane | None:
    """The plane with the least sum of squared vertical deviations (normal equations, exact).

    None if the places lie on one line in plan, or there are fewer than three: then no one plane is best.
    """
    if not points:
        return None
    count = len(points)
    x0, y0, z0 = (sum((one[axis] for one in points), Fraction(0)) / count for axis in range(3))
    off = [(x - x0, y - y0, z - z0) for x, y, z in points]
    xx, xy, yy = (sum((p[i] * p[j] for p in off), Fraction(0)) for i, j in ((0, 0), (0, 1), (1, 1)))
    xz, yz = (sum((p[i] * p[2] for p in off), Fraction(0)) for i in (0, 1))
    spread = xx * yy - xy * xy
    if spread == 0:
        return None
    x_slope = (xz * yy - yz * xy) / spread
    y_slope = (yz * xx - xz * xy) / spread
    return Plane(z0 - x_slope * x0 - y_slope * y0, x_slope, y_slope)


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
    total = [sum(one[axis] for one in points) for axis in range(3)]
    off = [tuple(count * one[axis] - total[axis] for axis in range(3)) for one in points]
    rows = [[sum(one[i] * one[j] for one in off) for j in range(3)] for i in range(3)]
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
