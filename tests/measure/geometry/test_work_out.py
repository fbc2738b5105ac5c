"""Named functions over readings: values, units through the computation, places, and everything refused."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.geometry.functions import FUNCTIONS, option_problems, unit_problem
from traveler.measure.geometry.plane import angle_of_sine, angle_of_slope
from traveler.measure.geometry.work_out import WorkedOut, work_out
from traveler.measure.number import Unreadable
from traveler.measure.quantity import Quantity, parse_quantity

Readings = list[tuple[tuple[tuple[str, str], ...], Quantity]]


def at(name: str, **readings: str) -> Readings:
    """Readings repeated at one position: ``at("end", near="0.05 mm")``; ``n1`` is the value 1."""
    return [(((name, key.removeprefix("n")),), parse_quantity(text)) for key, text in readings.items()]


def grid(
    rows: int, columns: int, *, pitch: str = "100 mm", unit: str = "mm", heights: list[str]
) -> tuple[Readings, dict[str, tuple[str, str]]]:
    """A grid of readings row by row, with its coordinates keyed ``row,column`` as the plan does."""
    step = parse_quantity(pitch)
    where = [(str(row), str(column)) for row in range(1, rows + 1) for column in range(1, columns + 1)]
    readings = [
        ((("row", row), ("column", column)), parse_quantity(height, unit))
        for (row, column), height in zip(where, heights, strict=True)
    ]
    places = {
        f"{row},{column}": (
            f"{(int(row) - 1) * step.value} {step.unit}",
            f"{(int(column) - 1) * step.value} {step.unit}",
        )
        for row, column in where
    }
    return readings, places


def shown(found: WorkedOut) -> str:
    return found.value.written


def test_the_difference_between_ends_is_without_its_sign() -> None:
    ends = at("end", near="0.031 mm", far="0.048 mm")
    found = work_out("difference", ends, along="end")
    assert (found.value.value, found.value.unit, found.value.decimals) == (Fraction("0.017"), "mm", 3)
    assert found.where == "larger at end far"
    assert work_out("difference", ends, along="end", options={"sign": "kept"}).value.value == Fraction(
        "-0.017"
    )


def test_equal_readings_differ_by_nothing_and_nowhere() -> None:
    found = work_out("difference", at("end", near="0.05 mm", far="0.050 mm"))
    assert (shown(found), found.where) == ("0.000 mm", "")
    assert work_out("spread", at("end", near="0.05 mm", far="0.050 mm")).where == ""


def test_spread_mean_and_largest_say_where() -> None:
    readings = at("spindle", n1="0.02 mm", n2="-0.05 mm", n3="0.04 mm")
    assert (shown(work_out("spread", readings)), work_out("spread", readings).where) == (
        "0.09 mm",
        "largest at spindle 3, smallest at spindle 2",
    )
    assert work_out("mean", readings).value.value == Fraction("0.01") / 3
    assert shown(work_out("mean", readings)) == "0.003 mm"
    assert (shown(work_out("largest", readings)), work_out("largest", readings).where) == (
        "0.04 mm",
        "at spindle 3",
    )
    ignored = work_out("largest", readings, options={"sign": "ignored"})
    assert (shown(ignored), ignored.where) == ("0.05 mm", "at spindle 2")


def test_mixed_units_are_converted_exactly_to_the_first() -> None:
    found = work_out("difference", at("end", near="1 mm", far="0.04 in"))
    assert (found.value.value, found.value.unit) == (Fraction("0.016"), "mm")
    assert work_out("difference", at("end", near="0.04 in", far="1 mm"), unit="µm").value.value == 16


def test_temperatures_lie_kelvins_apart() -> None:
    readings = at("end", near="20.5 °C", far="22 °C")
    assert work_out("spread", readings).value.unit == "delta °C"
    assert work_out("spread", readings, unit="K").value.value == Fraction("1.5")
    assert work_out("mean", readings, unit="°F").value.value == Fraction("70.25")
    with pytest.raises(Unreadable, match="WRK004"):
        work_out("mean", readings, unit="delta °C")


def test_run_out_is_the_worst_section_or_all_together() -> None:
    readings = [
        ((("section", section), ("angle", angle)), parse_quantity(value))
        for section, turn in (("a", ("0 mm", "0.003 mm")), ("b", ("0.010 mm", "0.011 mm")))
        for angle, value in zip(("0", "180"), turn, strict=True)
    ]
    assert shown(work_out("run_out", readings, along="angle")) == "0.003 mm"
    assert shown(work_out("run_out", readings, along="angle", options={"kind": "total"})) == "0.011 mm"
    assert work_out("run_out", readings, along="angle").where == "high at section b, angle 180"


def test_the_tilt_of_a_table_comes_in_mm_per_metre_and_says_which_corner_is_high() -> None:
    feet = at("foot", A="0 mm", B="0.30 mm", C="0.30 mm", D="0 mm")
    places = {"A": ("0", "0"), "B": ("600", "0"), "C": ("600 mm", "40 cm"), "D": ("0", "400")}
    found = work_out("tilt", feet, along="foot", coordinates=places)
    assert (found.value.value, found.value.unit, shown(found)) == (Fraction("0.5"), "mm/m", "0.50 mm/m")
    assert found.where in ("rises toward foot B", "rises toward foot C")
    assert work_out("tilt", feet, along="foot", coordinates=places, options={"toward": "y"}).value.value == 0


def test_a_tilt_can_be_asked_for_as_an_angle_or_percent() -> None:
    feet = at("foot", A="0 mm", B="100 mm")
    places = {"A": ("0", "0"), "B": ("100", "0")}
    assert work_out("tilt", feet, coordinates=places, unit="deg").value.value == 45
    assert work_out("tilt", feet, coordinates=places, unit="%").value.value == 100
    with pytest.raises(Unreadable, match="WRK004 tilt of readings in mm cannot be given in mm"):
        work_out("tilt", feet, coordinates=places, unit="mm")


def test_a_tilt_from_inches_comes_in_inches_per_foot() -> None:
    feet = at("foot", A="0 in", B="0.006 in")
    found = work_out("tilt", feet, coordinates={"A": ("0 in", "0 in"), "B": ("24 in", "0 in")})
    assert shown(found) == "0.0030 in/ft"


def test_the_same_tilt_whatever_units_readings_and_coordinates_are_in() -> None:
    metric = work_out(
        "tilt",
        at("foot", A="0 mm", B="0.254 mm"),
        coordinates={"A": ("0", "0"), "B": ("254", "0")},
        unit="mm/m",
    )
    mixed = work_out(
        "tilt",
        at("foot", A="0 in", B="0.01 in"),
        coordinates={"A": ("0", "0"), "B": ("10 in", "0")},
        unit="mm/m",
    )
    assert metric.value.value == mixed.value.value == 1


def test_flatness_over_a_grid_is_the_minimum_zone_unless_said_otherwise() -> None:
    readings, places = grid(3, 3, heights=["0", "0", "0", "0", "0.012", "0", "0", "0", "0"])
    found = work_out("flatness", readings, coordinates=places)
    assert (found.value.value, shown(found)) == (Fraction("0.012"), "0.0120 mm")
    least = work_out(
        "flatness", readings, along="row,column", options={"method": "least-squares"}, coordinates=places
    )
    assert least.value.value == Fraction("0.012")


def test_flatness_is_the_same_when_heights_are_in_micrometres_and_the_grid_in_inches() -> None:
    heights = ["0", "4", "9", "2", "7", "5", "1", "3", "8"]
    small, places = grid(3, 3, pitch="5 in", unit="µm", heights=heights)
    large, others = grid(
        3, 3, pitch="127 mm", unit="mm", heights=[str(Fraction(height) / 1000) for height in heights]
    )
    first = work_out("flatness", small, coordinates=places, unit="mm").value.value
    second = work_out("flatness", large, coordinates=others).value.value
    assert abs(first - second) < Fraction(1, 10**27)


def test_straightness_of_heights_along_a_way() -> None:
    readings = at("place", n1="0 mm", n2="0.010 mm", n3="0.016 mm", n4="0.018 mm", n5="0.012 mm", n6="0 mm")
    places = {str(n): (f"{200 * (n - 1)} mm", "0 mm") for n in range(1, 7)}
    found = work_out("straightness", readings, along="place", coordinates=places)
    assert shown(found) == "0.0180 mm"
    fitted = work_out("straightness", readings, coordinates=places, options={"method": "least-squares"})
    assert shown(fitted) == "0.0185 mm"
    ends = work_out("straightness", readings, coordinates=places, options={"method": "end-points"})
    assert shown(ends) == "0.0180 mm"


def test_straightness_along_a_slanting_line_uses_true_distances() -> None:
    readings = at("place", n1="0 mm", n2="3 mm", n3="0 mm")
    slanting = {"1": ("0", "0"), "2": ("3", "4"), "3": ("6", "8")}
    level = {"1": ("0", "0"), "2": ("5", "0"), "3": ("10", "0")}
    first = work_out("straightness", readings, coordinates=slanting)
    assert first.value.value == work_out("straightness", readings, coordinates=level).value.value


def test_a_stepped_level_gives_the_straightness_of_the_way() -> None:
    slopes = at("step", n1="0 mm/m", n2="0.02 mm/m", n3="0.04 mm/m", n4="0 mm/m", n5="-0.02 mm/m")
    places = {str(n): (f"{200 * (n - 1)} mm", "0 mm") for n in range(1, 6)}
    found = work_out("straightness", slopes, coordinates=places, unit="µm")
    assert abs(found.value.value - 8) < Fraction(1, 1000)  # level_a of tests/reference/geometry.yaml


def test_a_level_that_was_moved_unevenly_is_refused() -> None:
    slopes = at("step", n1="0 mm/m", n2="0.02 mm/m", n3="0.04 mm/m")
    with pytest.raises(Unreadable, match="WRK007 the level was not moved in even steps"):
        work_out("straightness", slopes, coordinates={"1": ("0", "0"), "2": ("200", "0"), "3": ("300", "0")})


def test_squareness_is_the_difference_of_diagonals_or_the_lean_over_the_second_side() -> None:
    diagonals = at("diagonal", falling="1001 mm", rising="1000 mm")
    assert shown(work_out("squareness", diagonals)) == "1 mm"
    sides = {"side_1": "800 mm", "side_2": "600"}
    found = work_out("squareness", diagonals, options=sides)
    assert found.value.value == Fraction(2001, 3200)
    assert found.where == "longer at diagonal falling"
    angle = work_out("squareness", diagonals, options=sides, unit="deg").value.value
    assert float(angle) == pytest.approx(0.0597127, abs=1e-6)  # arcsin(0.6253125 / 600) by hand


def test_diagonals_that_no_frame_has_are_refused() -> None:
    diagonals = at("diagonal", a="2000 mm", b="100 mm")
    with pytest.raises(
        Unreadable, match="WRK007 no frame with these sides has diagonals of 2000 mm and 100 mm"
    ):
        work_out("squareness", diagonals, options={"side_1": "800 mm", "side_2": "600 mm"})


@pytest.mark.parametrize("side", ["wide", "0 mm", "5 N"])
def test_a_side_that_is_no_length_is_refused(side: str) -> None:
    diagonals = at("diagonal", a="1001 mm", b="1000 mm")
    with pytest.raises(Unreadable, match="WRK006"):
        work_out("squareness", diagonals, options={"side_1": side, "side_2": "600 mm"})
    with pytest.raises(Unreadable, match="WRK006"):
        work_out("squareness", diagonals, options={"side_1": "600 mm"})


def rails(right: tuple[str, str, str]) -> Readings:
    heights = {"left": ("0 mm", "0.1 mm", "0.2 mm"), "right": right}
    return [
        ((("rail", rail), ("place", str(n))), parse_quantity(height))
        for rail, along in heights.items()
        for n, height in enumerate(along, 1)
    ]


def test_parallelism_of_one_rail_to_the_other() -> None:
    places = {str(n): (str(100 * n), "0") for n in (1, 2, 3)}
    options = {"datum": "left"}
    same = rails(("30.0 mm", "30.1 mm", "30.2 mm"))
    assert (
        work_out("parallelism", same, along="rail,place", options=options, coordinates=places).value.value
        == 0
    )
    opening = rails(("30 mm", "30 mm", "30 mm"))
    found = work_out("parallelism", opening, along="rail,place", options=options, coordinates=places)
    assert float(found.value.value) == pytest.approx(0.2, abs=1e-6)


def test_parallelism_of_a_face_to_another_over_a_plane() -> None:
    corners = {"A": ("0", "0"), "B": ("200", "0"), "C": ("0", "200"), "D": ("200", "200")}
    readings = [
        ((("face", face), ("corner", corner)), parse_quantity(height))
        for face, heights in (("bottom", ("0 mm",) * 4), ("top", ("50 mm", "50.01 mm", "50 mm", "50.01 mm")))
        for corner, height in zip(corners, heights, strict=True)
    ]
    found = work_out("parallelism", readings, options={"datum": "bottom"}, coordinates=corners)
    assert found.value.value == Fraction("0.01")


def test_without_a_datum_parallelism_is_the_spread_of_the_distances() -> None:
    readings = at("place", n1="30.00 mm", n2="30.02 mm", n3="30.01 mm")
    assert shown(work_out("parallelism", readings)) == "0.02 mm"


def test_a_datum_that_is_no_place_or_has_too_few_readings_is_refused() -> None:
    places = {str(n): (str(100 * n), "0") for n in (1, 2, 3)}
    readings = rails(("30 mm", "30 mm", "30 mm"))
    with pytest.raises(Unreadable, match="WRK002 datum 'middle'"):
        work_out("parallelism", readings, options={"datum": "middle"}, coordinates=places)
    with pytest.raises(Unreadable, match="WRK003 'left' has 1 readings"):
        work_out("parallelism", [readings[0], *readings[3:]], options={"datum": "left"}, coordinates=places)


def test_a_datum_read_on_one_line_fixes_no_plane() -> None:
    places = {"1": ("0", "0"), "2": ("100", "0"), "3": ("200", "0"), "4": ("0", "90")}
    readings = [
        *rails(("1 mm", "1 mm", "1 mm")),
        ((("rail", "right"), ("place", "4")), parse_quantity("1 mm")),
    ]
    with pytest.raises(Unreadable, match="WRK007 the datum's points lie on one line"):
        work_out("parallelism", readings, options={"datum": "left"}, coordinates=places)


PLACES = {"A": ("0", "0"), "B": ("600", "0"), "C": ("600", "400"), "D": ("0", "400")}
FEET = {"A": "0.1 mm", "B": "0.2 mm", "C": "0.1 mm", "D": "0.3 mm"}


def test_heights_read_at_one_and_the_same_spot_are_no_surface() -> None:
    with pytest.raises(Unreadable, match="WRK007"):
        work_out("flatness", at("foot", **FEET), coordinates=dict.fromkeys(FEET, ("5", "5")))


REFUSED = {
    "unknown function": (
        ("flatnes", FEET, {}, PLACES),
        "WRK001 there is no function 'flatnes'; did you mean 'flatness'",
    ),
    "unknown option": (("flatness", FEET, {"methid": "x"}, PLACES), "WRK002 .*did you mean 'method'"),
    "option of a function without any": (
        ("mean", FEET, {"method": "x"}, {}),
        "WRK002 mean has no option .*; there is none",
    ),
    "unknown choice": (
        ("flatness", FEET, {"method": "minimum_zone"}, PLACES),
        "WRK002 method of flatness is 'minimum_zone'; did you mean 'minimum-zone'",
    ),
    "too many readings": (
        ("difference", FEET, {}, {}),
        "WRK003 difference needs exactly 2 readings, there are 4",
    ),
    "too few readings": (
        ("flatness", {"A": "1 mm"}, {}, PLACES),
        "WRK003 flatness needs at least 4 readings",
    ),
    "none at all": (("mean", {}, {}, {}), "WRK003 mean needs at least 1 readings, there are 0"),
    "two dimensions": (
        ("spread", {"A": "1 mm", "B": "1 N"}, {}, {}),
        "WRK004 spread cannot mix readings in mm and N",
    ),
    "flatness of forces": (
        ("flatness", dict.fromkeys(FEET, "1 N"), {}, PLACES),
        "WRK004 flatness needs lengths; the readings are in N",
    ),
    "straightness of forces": (
        (
            "straightness",
            dict.fromkeys("ABC", "1 N"),
            {},
            {"A": ("0", "0"), "B": ("1", "0"), "C": ("2", "0")},
        ),
        "WRK004 straightness needs lengths",
    ),
    "a place without coordinates": (
        ("flatness", FEET | {"E": "1 mm"}, {}, PLACES),
        "WRK005 place 'E' has no coordinates; known are A, B, C, D",
    ),
    "no coordinates at all": (
        ("flatness", FEET, {}, {}),
        "WRK005 there are no coordinates for A; give places or a grid",
    ),
    "a coordinate that is not a length": (
        ("flatness", FEET, {}, PLACES | {"B": ("600 kg", "0")}),
        "WRK006 coordinate '600 kg' of B is not a length",
    ),
    "flatness of a line": (
        ("flatness", FEET, {}, {name: (str(n), str(2 * n)) for n, name in enumerate("ABCD")}),
        "WRK007 all points lie on one line in plan; work out straightness instead",
    ),
    "straightness of a plane": (
        ("straightness", FEET, {}, PLACES),
        "WRK007 the places do not lie on one line",
    ),
    "straightness of two": (
        ("straightness", {"A": "0 mm", "B": "1 mm"}, {}, PLACES),
        "WRK003 two heights are always straight",
    ),
    "tilt of one spot": (
        ("tilt", {"A": "0 mm", "B": "1 mm"}, {}, dict.fromkeys("AB", ("5", "5"))),
        "WRK007 all readings were taken at one place",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_worked_out_is_refused_with_a_reason(name: str) -> None:
    (function, readings, options, places), message = REFUSED[name]
    with pytest.raises(Unreadable, match=message):
        work_out(function, at("foot", **readings), along="foot", options=options, coordinates=places)


def test_options_can_be_checked_before_there_are_readings() -> None:
    assert option_problems("flatness", {"method": "minimum-zone"}) == []
    assert [problem.code for problem in option_problems("flatness", {"method": "x", "datum": "A"})] == [
        "WRK002",
        "WRK002",
    ]
    assert [problem.code for problem in option_problems("curve", {})] == ["WRK001"]


@pytest.mark.parametrize("function", FUNCTIONS)
def test_every_function_says_what_it_gives_its_source_and_which_unit_it_takes(function: str) -> None:
    rule = FUNCTIONS[function]
    assert rule.says
    assert rule.source
    unit = "mm/m" if rule.gives == "slope" else "µm"
    assert unit_problem(function, "mm", unit) is None
    assert unit_problem(function, "mm", "kg") is not None


@given(st.fractions(-100, 100, max_denominator=1000))
def test_the_angle_of_a_slope_agrees_with_the_arc_tangent_of_the_standard_library(slope: Fraction) -> None:
    from math import atan, degrees

    assert float(angle_of_slope(slope)) == pytest.approx(degrees(atan(slope)), abs=1e-12)


def test_angles_of_well_known_sines_and_slopes_are_exact() -> None:
    assert [angle_of_slope(Fraction(n)) for n in (0, 1, -1)] == [0, 45, -45]
    assert [angle_of_sine(Fraction(n, 2)) for n in (-2, 0, 1, 2)] == [-90, 0, 30, 90]
