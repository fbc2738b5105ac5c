"""Straightness: reference values, brute force, and what may not change it."""

from __future__ import annotations

import itertools
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.geometry.form import (
    Station,
    convex_hull,
    end_points_straightness,
    least_squares_straightness,
    minimum_zone_straightness,
    stepped_heights,
)
from traveler.measure.number import length

REFERENCE = yaml.load(
    (Path(__file__).parents[2] / "reference" / "geometry.yaml").read_text(encoding="utf-8"),
    Loader=yaml.CBaseLoader,  # noqa: S506 - makes texts only
)
LINES = {case["id"]: case for case in REFERENCE["cases"] if case["op"] == "straightness"}
LEVELS = {case["id"]: case for case in REFERENCE["cases"] if case["op"] == "level_profile"}


@pytest.mark.parametrize("name", LINES)
def test_straightness_meets_the_reference_values(name: str) -> None:
    case = LINES[name]
    pairs = zip(case["input"]["x_mm"], case["input"]["y_mm"], strict=True)
    stations = [(Fraction(x), Fraction(y)) for x, y in pairs]
    expect, tolerance = case["expect"], Fraction(case["tol_mm"])
    assert abs(end_points_straightness(stations) - Fraction(expect["end_points_line_mm"])) <= tolerance
    assert abs(least_squares_straightness(stations) - Fraction(expect["least_squares_mm"])) <= tolerance
    assert abs(minimum_zone_straightness(stations) - Fraction(expect["minimum_zone_mm"])) <= tolerance


@pytest.mark.parametrize("name", LEVELS)
def test_a_level_stepped_along_a_way_gives_its_profile(name: str) -> None:
    given_, expect = LEVELS[name]["input"], LEVELS[name]["expect"]
    per_division = Fraction(given_["sensitivity_mm_per_m_per_div"]) / 1000
    base, tolerance = Fraction(given_["base_mm"]), Fraction(LEVELS[name]["tol_mm"])
    heights = stepped_heights([Fraction(division) * per_division for division in given_["divisions"]], base)
    assert heights == [Fraction(text) for text in expect["heights_mm"]]
    stations = [(step * base, height) for step, height in enumerate(heights)]
    assert (
        abs(end_points_straightness(stations) - Fraction(expect["straightness_end_points_mm"])) <= tolerance
    )
    assert (
        abs(minimum_zone_straightness(stations) - Fraction(expect["straightness_minimum_zone_mm"]))
        <= tolerance
    )
    assert (heights[-1] - heights[0]) / stations[-1][0] * 1000 == Fraction(expect["out_of_level_mm_per_m"])


small = st.integers(-6, 6).map(Fraction)
profiles = st.lists(st.tuples(small, small), min_size=1, max_size=9)


def across_every_pair(stations: list[Station]) -> Fraction:
    """The narrowest pair of lines among all that run along a line through two of the stations."""
    found = []
    for a, b in itertools.combinations(set(stations), 2):
        normal = (a[1] - b[1], b[0] - a[0])
        along = [x * normal[0] + z * normal[1] for x, z in stations]
        found.append((max(along) - min(along)) ** 2 / (normal[0] ** 2 + normal[1] ** 2))
    return length(min(found, default=Fraction(0)))


@given(profiles)
def test_the_minimum_zone_is_the_least_over_all_lines_through_two_stations(stations: list[Station]) -> None:
    assert minimum_zone_straightness(stations) == across_every_pair(stations)


def test_no_direction_out_of_many_thousands_gives_closer_lines() -> None:
    random = np.random.default_rng(3)
    table = random.integers(-50, 50, (30, 2))
    width = float(minimum_zone_straightness([(Fraction(x), Fraction(z)) for x, z in table.tolist()]))
    angles = np.linspace(0, np.pi, 100_001)
    along = table @ np.vstack([np.cos(angles), np.sin(angles)])
    found = (along.max(axis=0) - along.min(axis=0)).min()
    assert width <= found <= width * 1.001


def test_least_squares_is_the_line_of_least_scatter_that_numpy_finds() -> None:
    random = np.random.default_rng(5)
    for _ in range(20):
        table = random.integers(-50, 50, (12, 2)) * [10, 1]
        found = least_squares_straightness([(Fraction(x), Fraction(z)) for x, z in table.tolist()])
        centred = table - table.mean(axis=0)
        along = centred @ np.linalg.svd(centred)[2][1]
        assert float(found) == pytest.approx(along.max() - along.min(), rel=1e-9)


turns = st.sampled_from(
    [(Fraction(1), Fraction(0)), (Fraction(3, 5), Fraction(4, 5)), (Fraction(-5, 13), Fraction(12, 13))]
)


@given(profiles, turns, st.tuples(small, small), st.randoms(use_true_random=False))
def test_turning_shifting_and_order_do_not_change_the_minimum_zone(stations, turn, shift, random) -> None:
    c, s = turn
    moved = [(c * x - s * z + shift[0], s * x + c * z + shift[1]) for x, z in stations]
    random.shuffle(moved)
    assert minimum_zone_straightness(moved) == minimum_zone_straightness(stations)


ways = st.lists(st.tuples(st.integers(0, 20).map(lambda n: Fraction(100 * n)), small), min_size=1, max_size=9)


@given(ways, turns, st.randoms(use_true_random=False))
def test_turning_and_order_do_not_change_the_least_squares_zone(stations, turn, random) -> None:
    c, s = turn
    moved = [(c * x - s * z, s * x + c * z) for x, z in stations]
    random.shuffle(moved)
    apart = least_squares_straightness(moved) - least_squares_straightness(stations)
    assert abs(apart) <= Fraction(1, 10**25)


@given(profiles)
def test_the_minimum_zone_is_never_wider_than_the_others(stations: list[Station]) -> None:
    least = minimum_zone_straightness(stations)
    assert least <= least_squares_straightness(stations)
    if len({x for x, _ in stations}) == len(stations):
        assert least <= end_points_straightness(stations)


@given(profiles)
def test_every_station_lies_within_the_hull(stations: list[Station]) -> None:
    corners = convex_hull(stations)
    assert set(corners) <= set(stations)
    if len(corners) < 3:
        return
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        for x, z in stations:
            assert (b[0] - a[0]) * (z - a[1]) - (b[1] - a[1]) * (x - a[0]) >= 0


def test_an_upright_profile_is_as_straight_as_its_width() -> None:
    upright = [(Fraction(x), Fraction(z)) for x, z in ((0, 0), (1, 50), (0, 100))]
    assert least_squares_straightness(upright) == 1
    assert minimum_zone_straightness(upright) == 1


def test_one_station_is_straight() -> None:
    once = [(Fraction(3), Fraction(4))]
    assert (
        minimum_zone_straightness(once)
        == least_squares_straightness(once)
        == end_points_straightness(once)
        == 0
    )
