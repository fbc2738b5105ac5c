"""Plain geometry over readings: reference values, identities, and an independent least-squares solver."""

from __future__ import annotations

from fractions import Fraction
from math import cos, radians, sqrt
from pathlib import Path

import numpy as np
import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.geometry.form import line_parallelism, parallelism
from traveler.measure.geometry.plane import Point, fitted_plane, slopes, steepest, total_normal
from traveler.measure.geometry.work_out import lean_from_diagonals, work_out
from traveler.measure.number import length, square_root
from traveler.measure.quantity import Quantity


def point(x: Fraction | int, y: Fraction | int, z: Fraction | int) -> Point:
    return (Fraction(x), Fraction(y), Fraction(z))


def run_out(turns: list[list[Fraction]], kind: str = "circular") -> Fraction:
    """Run-out of readings in mm, a list for each section."""
    readings = [
        ((("section", str(section)), ("angle", str(angle))), Quantity(value, "mm", "", 3))
        for section, turn in enumerate(turns)
        for angle, value in enumerate(turn)
    ]
    return work_out("run_out", readings, along="angle", options={"kind": kind}).value.value


REFERENCE = yaml.load(
    (Path(__file__).parents[2] / "reference" / "geometry.yaml").read_text(encoding="utf-8"),
    Loader=yaml.CBaseLoader,  # noqa: S506 - makes texts only
)
RUN_OUT = {case["id"]: case for case in REFERENCE["cases"] if case["op"] == "runout"}
PARALLEL = {case["id"]: case for case in REFERENCE["cases"] if case["op"] == "parallelism"}


@pytest.mark.parametrize("name", RUN_OUT)
def test_run_out_meets_the_reference_values(name: str) -> None:
    case = RUN_OUT[name]
    turn = [Fraction(text) for text in case["input"]["dial_readings_mm"]]
    assert abs(run_out([turn]) - Fraction(case["expect"]["tir_mm"])) <= Fraction(case["tol_mm"])
    if "eccentricity_mm" in case["expect"]:
        assert run_out([turn]) / 2 == Fraction(case["expect"]["eccentricity_mm"])


def test_circular_run_out_is_the_worst_section_and_total_run_out_takes_all_together() -> None:
    sections = [[Fraction(0), Fraction(3)], [Fraction(9), Fraction(10)]]
    assert run_out(sections) == 3
    assert run_out(sections, "total") == 10


@pytest.mark.parametrize("name", PARALLEL)
def test_parallelism_meets_the_reference_values(name: str) -> None:
    case = PARALLEL[name]
    datum, feature = (
        [point(*map(Fraction, row)) for row in case["input"][f"{side}_points_xyz_mm"]]
        for side in ("datum", "feature")
    )
    assert abs(parallelism(datum, feature) - Fraction(case["expect"]["parallelism_mm"])) <= Fraction(
        case["tol_mm"]
    )


def test_two_rails_that_spread_apart_by_a_tenth_are_a_tenth_out_of_parallel() -> None:
    datum = [(Fraction(x), Fraction(0)) for x in (0, 100, 200)]
    feature = [(Fraction(x), 30 + Fraction(x, 2000)) for x in (0, 100, 200)]
    assert line_parallelism(datum, feature) == Fraction(1, 10)


def test_difference_spread_mean_and_largest_are_exact() -> None:
    def worked(function: str, texts: list[str], **options: str) -> Fraction:
        readings = [
            ((("at", str(n)),), Quantity(Fraction(text), "mm", "", 1)) for n, text in enumerate(texts)
        ]
        return work_out(function, readings, options=options).value.value

    assert worked("difference", ["0.1", "-0.3"]) == worked("difference", ["-0.3", "0.1"]) == Fraction("0.4")
    assert worked("difference", ["-0.3", "0.1"], sign="kept") == Fraction("-0.4")
    values = ["0.1", "-0.3", "0.2"]
    assert worked("spread", values) == Fraction("0.5")
    assert worked("mean", values) == 0
    assert worked("largest", values) == Fraction("0.2")
    assert worked("largest", values, sign="ignored") == Fraction("0.3")


@given(st.lists(st.tuples(*[st.integers(-50, 50)] * 3), min_size=3, max_size=30))
def test_the_fitted_plane_is_the_one_numpy_finds(rows: list[tuple[int, int, int]]) -> None:
    plane = fitted_plane([point(*row) for row in rows])
    table = np.array([[x, y, 1.0] for x, y, _ in rows])
    if np.linalg.matrix_rank(table) < 3:
        assert plane is None
        return
    assert plane is not None
    found = np.linalg.lstsq(table, np.array([z for *_, z in rows]), rcond=None)[0]
    assert [float(plane.x_slope), float(plane.y_slope), float(plane.at)] == pytest.approx(
        found, rel=1e-6, abs=1e-6
    )


def test_the_normal_of_points_without_a_plane_is_still_some_direction() -> None:
    assert total_normal([point(1, 2, 3)] * 4) == (0, 0, 1)
    upright = total_normal([point(1, 2, z) for z in range(4)])
    assert upright[2] == 0
    assert any(upright)
    assert total_normal([point(x, 0, 0) for x in range(4)])[0] == 0


def test_the_slope_of_an_exact_plane_comes_back_exactly() -> None:
    points = [
        point(x, y, 5 + Fraction(3, 1000) * x - Fraction(4, 1000) * y) for x in (0, 600) for y in (0, 400)
    ]
    assert slopes(points) == (Fraction(3, 1000), Fraction(-4, 1000))
    assert steepest(Fraction(3, 1000), Fraction(-4, 1000)) == Fraction(5, 1000)


def test_places_on_one_line_have_the_slope_of_that_line() -> None:
    assert slopes([point(0, 0, 0), point(300, 400, 1)]) == (Fraction(300, 250_000), Fraction(400, 250_000))
    assert steepest(Fraction(300, 250_000), Fraction(400, 250_000)) == Fraction(1, 500)
    assert slopes([point(1, 1, 0), point(1, 1, 9)]) is None
    assert slopes([]) is None


@given(st.integers(100, 2000), st.integers(100, 2000), st.integers(800, 1000))
def test_diagonals_of_a_leaning_frame_give_back_its_lean(width: int, height: int, angle_tenths: int) -> None:
    lean = height * cos(radians(angle_tenths / 10))
    upright = sqrt(height**2 - lean**2)
    first, second = sqrt((width + lean) ** 2 + upright**2), sqrt((width - lean) ** 2 + upright**2)
    found = lean_from_diagonals(Fraction(first), Fraction(second), Fraction(width))
    assert float(found) == pytest.approx(lean, abs=1e-9 * (width + height))


@given(st.fractions(min_value=0))
def test_the_root_of_a_square_is_exact(number: Fraction) -> None:
    assert square_root(number * number) == number == length(number * number)


@given(st.fractions(min_value=Fraction(1, 10**6), max_value=10**6))
def test_a_root_is_right_to_sixty_digits(number: Fraction) -> None:
    assert abs(square_root(number) ** 2 - number) <= number / 10**58


def test_a_negative_number_has_no_root() -> None:
    with pytest.raises(ValueError, match="nonnegative"):
        square_root(Fraction(-1))
