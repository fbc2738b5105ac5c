"""The minimum zone by hull and exact arithmetic, against a linear programme that solves the same problem."""

from __future__ import annotations

import time
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest

from traveler.measure.geometry.form import minimum_zone_flatness
from traveler.measure.geometry.plane import Point


def plate(side: int, seed: int) -> list[Point]:
    """A plate read on a grid of side × side places 50 mm apart, heights in micrometres."""
    heights = np.random.default_rng(seed).integers(0, 30, (side, side)).tolist()
    return [
        (
            Fraction(50 * x),
            Fraction(50 * y),
            Fraction(heights[x][y], 1000) + Fraction(x, 40) - Fraction(y, 70),
        )
        for x in range(side)
        for y in range(side)
    ]


def by_programme(points: list[Point]) -> float:
    """Two vertical zones by linear programming: one to find the tilt, one in the frame turned level."""
    from scipy.optimize import linprog

    table = np.array([[float(part) for part in point] for point in points])
    for _ in range(2):
        plane = np.column_stack([table[:, :2], np.ones(len(table)), np.zeros(len(table))])
        plane[:, 3] = -1
        sides = np.vstack([plane, np.column_stack([-plane[:, :3], plane[:, 3]])])
        most = np.concatenate([table[:, 2], -table[:, 2]])
        x, y, _, half = linprog([0, 0, 0, 1], A_ub=sides, b_ub=most, bounds=[(None, None)] * 4).x
        normal = np.array([-x, -y, 1]) / np.sqrt(1 + x * x + y * y)
        first = np.cross(normal, [0.0, 1.0, 0.0])
        first /= np.linalg.norm(first)
        table = table @ np.column_stack([first, np.cross(normal, first), normal])
    return 2 * float(half)


def seconds(work: Callable[[], object]) -> float:
    """The best of five."""
    found = []
    for _ in range(5):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


@pytest.mark.bench
@pytest.mark.parametrize("side", [3, 5, 10, 20])
def test_print_the_ratio_to_a_linear_programme(side: int, capsys: pytest.CaptureFixture[str]) -> None:
    points = plate(side, seed=side)
    ours, theirs = minimum_zone_flatness(points).width, by_programme(points)
    ratio = seconds(lambda: by_programme(points)) / seconds(lambda: minimum_zone_flatness(points))
    with capsys.disabled():
        print(
            f"\nminimum zone of {side * side} points: hull {ratio:.1f} times as fast as two linear programmes"
        )
    assert float(ours) == pytest.approx(theirs, rel=1e-6)
