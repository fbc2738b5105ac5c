"""ISO 286: every value of the reference tables and cases, size steps, and further values of the trade."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.iso import deviations, fit, is_class
from traveler.measure.number import Unreadable

REFERENCE = yaml.load(
    (Path(__file__).parents[1] / "reference" / "iso286.yaml").read_text(encoding="utf-8"),
    Loader=yaml.CBaseLoader,  # noqa: S506 - makes texts only
)
TABLES = REFERENCE["tables"]
CASES = {case["id"]: case for case in REFERENCE["cases"]}
STEPS = [tuple(map(int, step)) for step in TABLES["nominal_steps_mm_over_to"]]
FINE = [tuple(map(int, step)) for step in TABLES["sub_steps_for_r_s_mm_over_to"]]
JUST_OVER = Fraction(1, 1000)


def micrometres(nominal: Fraction, tolerance_class: str) -> tuple[Fraction, Fraction]:
    low, high = deviations(nominal, tolerance_class)
    return low * 1000, high * 1000


def within(step: tuple[int, int]) -> list[Fraction]:
    """The ends of a step: just over its lower bound, and its upper bound itself."""
    return [step[0] + JUST_OVER, Fraction(step[1])]


@pytest.mark.parametrize("name", [name for name, case in CASES.items() if "upper_um" in case["expect"]])
def test_deviations_meet_the_reference_values(name: str) -> None:
    case = CASES[name]
    low, high = micrometres(Fraction(case["input"]["nominal_mm"]), case["input"]["class"])
    assert (low, high) == (Fraction(case["expect"]["lower_um"]), Fraction(case["expect"]["upper_um"]))


@pytest.mark.parametrize("name", [name for name, case in CASES.items() if "max_mm" in case["expect"]])
def test_limits_of_size_meet_the_reference_values(name: str) -> None:
    case = CASES[name]
    nominal = Fraction(case["input"]["nominal_mm"])
    low, high = deviations(nominal, case["input"]["class"])
    assert (nominal + low, nominal + high) == (
        Fraction(case["expect"]["min_mm"]),
        Fraction(case["expect"]["max_mm"]),
    )


@pytest.mark.parametrize("name", [name for name, case in CASES.items() if "fit" in case["input"]])
def test_fits_meet_the_reference_values(name: str) -> None:
    case = CASES[name]
    found = fit(Fraction(case["input"]["nominal_mm"]), *case["input"]["fit"].split("/"))
    assert found.kind == case["expect"]["kind"]
    assert (found.least * 1000, found.greatest * 1000) == (
        Fraction(case["expect"]["min_clearance_um"]),
        Fraction(case["expect"]["max_clearance_um"]),
    )


@pytest.mark.parametrize("name", [name for name, case in CASES.items() if "value" in case["expect"]])
def test_sizes_outside_the_table_are_refused(name: str) -> None:
    case = CASES[name]["input"]
    with pytest.raises(Unreadable) as refusal:
        deviations(Fraction(case["nominal_mm"]), case["class"])
    assert refusal.value.code == "LIM005"
    assert refusal.value.hint


@pytest.mark.parametrize("grade", TABLES["it_um"])
def test_every_grade_of_every_step_meets_the_table_at_both_ends_of_the_step(grade: str) -> None:
    number = grade.removeprefix("IT")
    for step, width in zip(STEPS, TABLES["it_um"][grade], strict=True):
        for nominal in within(step):
            if number == "14" and nominal <= 1:
                continue
            assert micrometres(nominal, f"H{number}") == (0, Fraction(width))
            assert micrometres(nominal, f"h{number}") == (-Fraction(width), 0)
            assert micrometres(nominal, f"js{number}") == (-Fraction(width) / 2, Fraction(width) / 2)


@pytest.mark.parametrize("letter", ["d", "e", "f", "g", "h"])
def test_shafts_and_holes_with_play_meet_the_table_in_every_step(letter: str) -> None:
    for step, deviation in zip(STEPS, TABLES["shaft_fundamental_deviation_um"][letter], strict=True):
        for nominal in within(step):
            assert micrometres(nominal, f"{letter}6")[1] == Fraction(deviation)
            assert micrometres(nominal, f"{letter.upper()}9")[0] == -Fraction(deviation)


@pytest.mark.parametrize("letter", ["k", "m", "n", "p"])
def test_shafts_with_interference_meet_the_table_in_every_step(letter: str) -> None:
    for step, deviation in zip(STEPS, TABLES["shaft_fundamental_deviation_um"][letter], strict=True):
        for nominal in within(step):
            assert micrometres(nominal, f"{letter}6")[0] == Fraction(deviation)
            assert micrometres(nominal, f"{letter}9")[0] == (0 if letter == "k" else Fraction(deviation))


@pytest.mark.parametrize("letter", ["r", "s"])
def test_shafts_r_and_s_go_by_finer_steps(letter: str) -> None:
    for step, deviation in zip(FINE, TABLES["shaft_r_s_um"][letter], strict=True):
        for nominal in within(step):
            assert micrometres(nominal, f"{letter}7")[0] == Fraction(deviation)


@pytest.mark.parametrize("grade", ["5", "6", "7", "8"])
def test_holes_with_interference_are_mirrored_with_the_tabled_addition(grade: str) -> None:
    shafts = TABLES["shaft_fundamental_deviation_um"]
    for index, step in enumerate(STEPS):
        delta = Fraction(TABLES["hole_delta_um"][f"IT{grade}"][index])
        for letter in "kmn":
            if letter == "m" and grade == "6" and step == (250, 315):
                continue
            upper = -Fraction(shafts[letter][index]) + delta
            assert micrometres(Fraction(step[1]), f"{letter.upper()}{grade}")[1] == upper
        upper = -Fraction(shafts["p"][index]) + (delta if grade != "8" else 0)
        assert micrometres(Fraction(step[1]), f"P{grade}")[1] == upper


def test_the_one_exception_of_the_standard_is_kept() -> None:
    assert micrometres(Fraction(300), "M6") == (-41, -9)
    assert micrometres(Fraction(250), "M6") == (-37, -8)
    assert micrometres(Fraction(316), "M6") == (-46, -10)


@pytest.mark.parametrize("grade", [grade for grade in TABLES["it_um"] if grade != "IT5"])
def test_the_table_follows_the_formula_of_the_standard_over_three_millimetres(grade: str) -> None:
    """i = 0.45·∛D + 0.001·D µm, D the geometric mean of the step (ISO 286-1:2010, Annex A)."""
    times = dict(zip(TABLES["it_um"], (7, 10, 16, 25, 40, 64, 100, 160, 250, 400), strict=True))[grade]
    for low, high in STEPS[1:]:
        middle = (low * high) ** 0.5
        unit = 0.45 * middle ** (1 / 3) + 0.001 * middle
        width = micrometres(Fraction(high), f"H{grade.removeprefix('IT')}")[1]
        assert abs(int(width) / (times * unit) - 1) < 0.1


# Values of ISO 286-2 as shops know them, from memory: nominal, class, lower and upper deviation in µm.
FURTHER = """
6 H7 0 12         10 H8 0 22        100 H7 0 35       315 H7 0 52       400 H7 0 57      16 H9 0 43
20 h7 -21 0       10 h9 -36 0       8 m6 6 15         12 f7 -34 -16     30 e8 -73 -40    16 d9 -93 -50
50 k6 2 18        25 k6 2 15        25 s6 35 48       100 s6 71 93      80 s6 59 78      50 r6 34 50
25 N9 -52 0       16 N9 -43 0       40 P7 -42 -17     25 R7 -41 -20     25 S7 -48 -27    30 K8 -23 10
25 K7 -15 6       50 F8 25 64       100 G7 12 47      10 E9 25 61       60 D9 100 174    10 D10 40 98
16 P9 -61 -18     10 P9 -51 -15     6 P9 -42 -12      8 JS9 -18 18      20 n6 15 28      40 n6 17 33
10 g6 -14 -5      30 g6 -20 -7      120 g6 -34 -12    50 f7 -50 -25     3 H8 0 14        25 g5 -16 -7
"""
KNOWN = [tuple(FURTHER.split()[at : at + 4]) for at in range(0, len(FURTHER.split()), 4)]


@pytest.mark.parametrize("known", KNOWN, ids=lambda known: "".join(known[:2]))
def test_well_known_classes_have_their_well_known_deviations(known: tuple[str, str, str, str]) -> None:
    nominal, tolerance_class, low, high = known
    assert micrometres(Fraction(nominal), tolerance_class) == (Fraction(low), Fraction(high))


@pytest.mark.parametrize(
    ("nominal", "tolerance_class"),
    [
        ("25", "H4"), ("25", "H15"), ("25", "H0"), ("25", "u6"), ("25", "ZC7"), ("25", "A11"), ("25", "j6"),
        ("25", "K9"), ("1", "H14"), ("1", "N9"), ("500.001", "H7"), ("0", "H7"), ("-5", "H7"),
    ],
)  # fmt: skip
def test_what_the_tables_do_not_hold_is_refused_not_guessed(nominal: str, tolerance_class: str) -> None:
    with pytest.raises(Unreadable) as refusal:
        deviations(Fraction(nominal), tolerance_class)
    assert refusal.value.code == "LIM005"
    assert "numbers" in refusal.value.hint


@pytest.mark.parametrize("text", ["", "H", "7", "H7g6", "Hh7", "mm2", "hh7", "q6", "JSS7"])
def test_what_is_no_class_is_refused(text: str) -> None:
    assert not is_class(text)
    with pytest.raises(Unreadable, match="LIM003"):
        deviations(Fraction(25), text)


@pytest.mark.parametrize("pair", [("g6", "H7"), ("H7", "H7"), ("g6", "g6"), ("", "g6")])
def test_a_fit_is_of_a_hole_and_a_shaft_in_this_order(pair: tuple[str, str]) -> None:
    with pytest.raises(Unreadable, match="LIM003"):
        fit(Fraction(25), *pair)


CLASSES = [
    f"{letter}{grade}"
    for grade in range(5, 15)
    for letter in [
        "d",
        "e",
        "f",
        "g",
        "h",
        "js",
        "k",
        "m",
        "n",
        "p",
        "r",
        "s",
        "D",
        "E",
        "F",
        "G",
        "H",
        "JS",
        "M",
        "N",
        "P",
        "R",
        "S",
    ]
]


@given(st.fractions(min_value=2, max_value=500, max_denominator=1000), st.sampled_from(CLASSES))
def test_a_class_is_as_wide_as_its_grade(nominal: Fraction, tolerance_class: str) -> None:
    low, high = deviations(nominal, tolerance_class)
    grade = "".join(filter(str.isdigit, tolerance_class))
    assert high - low == deviations(nominal, f"H{grade}").upper


def test_k_up_to_three_millimetres_has_a_deviation_of_nothing_in_every_grade() -> None:
    assert micrometres(Fraction(3), "K9") == (-25, 0)
    assert micrometres(Fraction(3), "N9") == (-29, -4)
