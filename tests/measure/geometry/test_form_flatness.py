"""Flatness: published and constructed values, independent solvers, and what may not change it."""

from __future__ import annotations

import itertools
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.measure.geometry.form import FlatnessZone, least_squares_flatness, minimum_zone_flatness
from traveler.measure.geometry.plane import Point, cross, dot, extent_squared, minus, whole_steps


def point(x: Fraction | int, y: Fraction | int, z: Fraction | int) -> Point:
    return (Fraction(x), Fraction(y), Fraction(z))


REFERENCE = yaml.load(  # every number stays the text it was written as
    (Path(__file__).parents[2] / "reference" / "geometry.yaml").read_text(encoding="utf-8"),
    Loader=yaml.CBaseLoader,  # noqa: S506 - makes texts only
)
CASES = {case["id"]: case for case in REFERENCE["cases"] if case["op"] == "flatness"}

unhurried = settings(deadline=None)  # the first call loads scipy


def points_of(rows: list[list[str]]) -> list[Point]:
    return [point(*row) for row in rows]


@pytest.mark.parametrize("name", CASES)
def test_flatness_meets_the_reference_values(name: str) -> None:
    case = CASES[name]
    points = points_of(case["input"]["points_xyz_mm"])
    tolerance = Fraction(case["tol_mm"])
    assert (
        abs(least_squares_flatness(points).width - Fraction(case["expect"]["least_squares_mm"])) <= tolerance
    )
    assert abs(minimum_zone_flatness(points).width - Fraction(case["expect"]["minimum_zone_mm"])) <= tolerance


def test_one_high_point_on_a_level_plate_is_its_height_exactly() -> None:
    points = points_of(CASES["dome_3x3"]["input"]["points_xyz_mm"])
    assert minimum_zone_flatness(points).width == Fraction("0.012")
    assert least_squares_flatness(points).width == Fraction("0.012")


heights = st.integers(0, 9).map(lambda tenth: Fraction(tenth, 10))
plan = st.tuples(st.integers(0, 4), st.integers(0, 4)).map(lambda pair: (pair[0] * 100, pair[1] * 100))
plates = st.lists(st.builds(lambda at, z: point(*at, z), plan, heights), min_size=1, max_size=9)
"""Points of a plate some hundred units wide and less than one high, often with repeats or on one line."""

clouds = st.lists(st.builds(point, *[st.integers(0, 6)] * 3), min_size=1, max_size=7)
"""Points anywhere in a small cube of whole numbers: full of ties, flat faces, parallel edges."""


def by_trying_every_direction(points: list[Point]) -> Fraction:
    """The square of the narrowest zone among all directions at right angles to two lines through points."""
    wholes, steps = whole_steps(list(dict.fromkeys(points)))
    lines = [minus(a, b) for a, b in itertools.combinations(wholes, 2)]
    ways = {normal for a, b in itertools.combinations(lines, 2) if any(normal := cross(a, b))}
    return min((extent_squared(wholes, way) / steps**2 for way in ways), default=Fraction(0))


@unhurried
@given(clouds)
def test_the_minimum_zone_is_the_least_over_every_direction_that_points_can_name(points: list[Point]) -> None:
    assert minimum_zone_flatness(points).squared == by_trying_every_direction(points)


@unhurried
@given(plates)
def test_the_minimum_zone_of_a_plate_is_the_least_over_every_direction(points: list[Point]) -> None:
    assert minimum_zone_flatness(points).squared == by_trying_every_direction(points)


def by_linear_programme(points: list[Point]) -> float:
    """The narrowest zone near the horizontal: a linear programme in heights, repeated in a turned frame."""
    table = np.array([[float(part) for part in point] for point in points])
    table -= table.mean(axis=0)
    for _ in range(4):
        lean, zone = _vertical_zone(table)
        normal = np.array([-lean[0], -lean[1], 1.0]) / np.sqrt(1 + lean @ lean)
        first = np.cross(normal, [0.0, 1.0, 0.0])
        first /= np.linalg.norm(first)
        table = table @ np.column_stack([first, np.cross(normal, first), normal])
    return zone


def _vertical_zone(table: np.ndarray) -> tuple[np.ndarray, float]:
    from scipy.optimize import linprog

    count = len(table)
    plane = np.column_stack([table[:, :2], np.ones(count)])
    half = np.ones((count, 1))
    sides = np.block([[-plane, -half], [plane, -half]])
    most = np.concatenate([-table[:, 2], table[:, 2]])
    found = linprog([0, 0, 0, 1], A_ub=sides, b_ub=most, bounds=[(None, None)] * 3 + [(0, None)])
    assert found.success
    return found.x[:2], 2 * float(found.x[3])


@pytest.mark.parametrize("seed", range(12))
def test_a_linear_programme_finds_the_same_minimum_zone(seed: int) -> None:
    random = np.random.default_rng(seed)
    table = random.integers(0, [900, 600, 400], (int(random.integers(4, 120)), 3)).tolist()
    points = [point(x, y, Fraction(z, 1000) + Fraction(x, 400) - Fraction(y, 900)) for x, y, z in table]
    width = float(minimum_zone_flatness(points).width)
    assert width == pytest.approx(by_linear_programme(points), rel=1e-6, abs=1e-9)


def test_no_direction_out_of_many_thousands_gives_a_narrower_zone() -> None:
    random = np.random.default_rng(7)
    table = random.integers(-50, 50, (40, 3))
    width = float(minimum_zone_flatness([point(*integer) for integer in table.tolist()]).width)
    ways = random.normal(size=(60_000, 3))
    along = table @ (ways / np.linalg.norm(ways, axis=1, keepdims=True)).T
    found = (along.max(axis=0) - along.min(axis=0)).min()
    assert width <= found <= 1.05 * width


def turned(points: list[Point], turn: tuple[int, int, int, int], shift: Point) -> list[Point]:
    """The points rotated by a quaternion of whole numbers and shifted: a rotation in exact fractions."""
    w, x, y, z = turn
    size = w * w + x * x + y * y + z * z
    rows = (
        (w * w + x * x - y * y - z * z, 2 * (x * y - w * z), 2 * (x * z + w * y)),
        (2 * (x * y + w * z), w * w - x * x + y * y - z * z, 2 * (y * z - w * x)),
        (2 * (x * z - w * y), 2 * (y * z + w * x), w * w - x * x - y * y + z * z),
    )
    moved = []
    for place in points:
        a, b, c = (sum((f * p for f, p in zip(row, place, strict=True)), Fraction(0)) / size for row in rows)
        moved.append((a + shift[0], b + shift[1], c + shift[2]))
    return moved


quaternions = st.tuples(*[st.integers(-4, 4)] * 4).filter(any)
shifts = st.builds(point, *[st.fractions(-1000, 1000, max_denominator=100)] * 3)


@unhurried
@given(clouds, quaternions, shifts, st.randoms(use_true_random=False))
def test_turning_shifting_and_order_do_not_change_the_minimum_zone(points, turn, shift, random) -> None:
    moved = turned(points, turn, shift)
    random.shuffle(moved)
    assert minimum_zone_flatness(moved).squared == minimum_zone_flatness(points).squared


@unhurried
@given(plates, quaternions, shifts, st.randoms(use_true_random=False))
def test_turning_shifting_and_order_do_not_change_the_least_squares_zone(points, turn, shift, random) -> None:
    moved = turned(points, turn, shift)
    random.shuffle(moved)
    before, after = least_squares_flatness(points).width, least_squares_flatness(moved).width
    assert abs(before - after) <= Fraction(1, 10**25)


@unhurried
@given(st.one_of(plates, clouds))
def test_the_minimum_zone_is_never_wider_than_the_least_squares_zone(points: list[Point]) -> None:
    assert minimum_zone_flatness(points).squared <= least_squares_flatness(points).squared


@unhurried
@given(st.one_of(plates, clouds))
def test_the_planes_of_a_zone_hold_every_point(points: list[Point]) -> None:
    for zone in (minimum_zone_flatness(points), least_squares_flatness(points)):
        along = [sum(f * p for f, p in zip(zone.normal, point, strict=True)) for point in points]
        assert (max(along) - min(along)) ** 2 <= zone.squared * max(dot(zone.normal, zone.normal), 1)


@settings(unhurried, max_examples=30)
@given(st.lists(st.builds(point, *[st.fractions(-9, 9, max_denominator=9)] * 3), min_size=1, max_size=3))
def test_three_points_or_fewer_are_always_flat(points: list[Point]) -> None:
    assert (
        minimum_zone_flatness(points)
        == least_squares_flatness(points)
        == FlatnessZone(Fraction(0), (0, 0, 0))
    )


DEGENERATE = {
    "one point read nine times": [point(1, 2, 3)] * 9,
    "on one line": [point(n, 2 * n, 3 * n) for n in range(6)],
    "in one tilted plane": [point(x, y, Fraction(x, 3) - Fraction(y, 7)) for x in range(4) for y in range(4)],
    "in one upright plane": [point(x, 2 * x, z) for x in range(4) for z in range(3)],
}


@pytest.mark.parametrize("name", DEGENERATE)
def test_points_that_one_plane_holds_are_exactly_flat(name: str) -> None:
    assert minimum_zone_flatness(DEGENERATE[name]).width == 0
    assert least_squares_flatness(DEGENERATE[name]).width == 0


def test_a_nanometre_on_a_kilometre_is_still_found_exactly() -> None:
    far = [point(x * 10**6, y * 10**6, 0) for x in range(3) for y in range(3)]
    far[4] = point(10**6, 10**6, Fraction(1, 10**6))
    assert minimum_zone_flatness(far).width == Fraction(1, 10**6)


def test_a_cube_of_points_has_no_best_plane_but_a_zone_all_the_same() -> None:
    cube = [point(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 1)]
    assert minimum_zone_flatness(cube).width == 1
    assert least_squares_flatness(cube).width == 1


def test_a_square_bar_is_as_flat_as_it_is_thick_though_two_directions_tie() -> None:
    bar = [point(x, y, z) for x in (0, 2) for y in (0, 2) for z in range(0, 30, 10)]
    assert minimum_zone_flatness(bar).width == 2
    assert least_squares_flatness(bar).width == 2
    lying = [(z, x, y) for x, y, z in bar]
    assert least_squares_flatness(lying).width == 2


def test_readings_written_as_odd_fractions_are_no_burden() -> None:
    primes = [n for n in range(10**8, 10**8 + 4000) if all(n % d for d in range(2, 10**4 + 1))]
    points = [
        point(100 * (n % 15), 100 * (n // 15), Fraction(n % 7, prime)) for n, prime in enumerate(primes)
    ]
    assert len(points) > 150
    assert minimum_zone_flatness(points).squared <= least_squares_flatness(points).squared
