"""Uncertainty budgets against the reference values, the example H.1 of the GUM among them."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.number import Unreadable
from traveler.measure.uncertainty import (
    Budget,
    Component,
    combine,
    normal,
    rectangular,
    resolution,
    rounded_uncertainty,
    student_t,
    triangular,
    type_a,
    u_shaped,
)

REFERENCE = yaml.load(
    (Path(__file__).parent.parent / "reference" / "uncertainty.yaml").read_text(encoding="utf-8"),
    Loader=yaml.BaseLoader,  # noqa: S506 - makes texts only
)
CASES = {case["id"]: case for case in REFERENCE["cases"]}


def named(op: str) -> list[str]:
    return [name for name, case in CASES.items() if case["op"] == op]


def freedom(text: str) -> Fraction | None:
    return None if text == "inf" else Fraction(text)


def components(us: list[str], freedoms: list[str] | None = None) -> list[Component]:
    return [
        Component(str(at), Fraction(u) ** 2, freedom(freedoms[at]) if freedoms else None)
        for at, u in enumerate(us)
    ]


def close(found: Fraction, expected: str, tolerance: str) -> bool:
    return abs(found - Fraction(expected)) <= Fraction(tolerance)


def test_the_components_of_the_gum_example_combine_as_published() -> None:
    case = CASES["gum_h1_uc"]
    found = combine(components(case["input"]["components_nm"])).u
    assert close(found, case["expect"], case["tol"])


def test_the_gum_example_has_its_published_freedom_factor_and_expanded_uncertainty() -> None:
    """JCGM 100:2008 H.1.6: effective degrees of freedom 16.7, cut to 16; k = 2.92; U = 93 nm at 99 %.

    It prints its components rounded; from those come 16.76 and 92.5 nm.
    """
    budget = combine(components(["25", "9.7", "2.9", "16.6"], ["18", "25.6", "50", "2"]))
    assert budget.freedom is not None
    assert close(budget.freedom, "16.7", "0.1")
    assert close(budget.coverage_factor(Fraction("0.99")), "2.92", "0.005")
    assert close(budget.expanded(Fraction("0.99")), "93", "0.6")
    case = CASES["gum_h1_U99"]
    k = student_t(int(case["input"]["dof"]), Fraction(case["input"]["p"]))
    assert close(k, case["expect"]["t"], "0.0005")
    assert close(k * Fraction(case["input"]["u_nm"]), case["expect"]["U_nm"], case["tol"])


def test_the_result_of_the_gum_example_is_exact() -> None:
    case = CASES["gum_h1_length"]["input"]
    length = Fraction(case["standard_mm"]) + Fraction(case["difference_nm"]) / 1_000_000
    assert length == Fraction(CASES["gum_h1_length"]["expect"]["length_mm"])


def test_the_temperature_terms_of_the_gum_example_meet_the_reference_values() -> None:
    case = CASES["gum_h1_dtheta"]
    term = rectangular("δθ", Fraction(case["input"]["half_width_degC"]))
    assert close(term.u, case["expect"], case["tol"])
    case = CASES["gum_h1_dtheta_nm"]
    factor = Fraction(case["input"]["length_mm"]) * Fraction(case["input"]["alpha_per_degC"]) * 1_000_000
    assert close(term.times(factor).u, case["expect"], case["tol"])
    assert term.times(-factor).u == term.times(factor).u


@pytest.mark.parametrize("name", named("type_a"))
def test_repeated_readings_meet_the_reference_values(name: str) -> None:
    case = CASES[name]
    series = type_a([Fraction(reading) for reading in case["input"]["readings"]])
    component = series.component()
    assert close(series.mean, case["expect"]["mean"], case["tol"])
    assert close(series.s, case["expect"]["s"], case["tol"])
    assert close(component.u, case["expect"]["u_mean"], case["tol"])
    assert component.freedom == Fraction(case["expect"]["dof"])


@pytest.mark.parametrize("name", named("type_b"))
def test_other_components_meet_the_reference_values(name: str) -> None:
    case = CASES[name]
    value = Fraction(case["input"]["value"])
    component = {
        "rectangular": rectangular,
        "triangular": triangular,
        "resolution": resolution,
        "certificate_k2": normal,
    }[case["input"]["kind"]]("", value)
    assert close(component.u, case["expect"], case["tol"])


def test_a_swinging_influence_is_u_shaped() -> None:
    assert close(u_shaped("air", Fraction("0.01")).u, "0.00707107", "1e-8")


@pytest.mark.parametrize("name", named("budget"))
def test_budgets_meet_the_reference_values(name: str) -> None:
    case, expected = CASES[name], CASES[name]["expect"]
    budget = combine(components(case["input"]["u"], case["input"]["dof"]))
    probability = Fraction(case["input"]["p"])
    assert close(budget.u / Fraction(expected["uc"]), "1", "1e-3")
    if expected["veff"] == "inf":
        assert budget.freedom is None
    else:
        assert budget.freedom is not None
        assert close(budget.freedom / Fraction(expected["veff"]), "1", "1e-3")
        assert int(budget.freedom) == int(expected["veff_truncated"])
    assert close(budget.coverage_factor(probability) / Fraction(expected["k"]), "1", "1e-3")
    assert close(budget.expanded(probability) / Fraction(expected["U"]), "1", "1e-3")


@pytest.mark.parametrize("name", named("student_t"))
def test_coverage_factors_meet_the_reference_values(name: str) -> None:
    case = CASES[name]
    for key, expected in case["expect"].items():
        probability = Fraction(key.removeprefix("p").replace("_", ".")) / 100
        found = student_t(int(case["input"]["dof"]), probability)
        tolerance = max(Fraction(case["tol"]), Fraction(expected) / 2000)  # four digits are printed
        assert abs(found - Fraction(expected)) <= tolerance


# JCGM 100:2008 Table G.2, further rows from memory: degrees of freedom, 90 %, 95 %, 95.45 %, 99 %, 99.73 %.
TABLE_G2 = """
2 2.92 4.30 4.53 9.92 19.21
6 1.94 2.45 2.52 3.71 4.90
8 1.86 2.31 2.37 3.36 4.28
30 1.70 2.04 2.09 2.75 3.27
40 1.68 2.02 2.06 2.70 3.20
inf 1.645 1.960 2.000 2.576 3.000
"""


@pytest.mark.parametrize("row", TABLE_G2.split("\n")[1:-1])
def test_coverage_factors_meet_the_published_table(row: str) -> None:
    dof, *factors = row.split()
    for probability, expected in zip(("90", "95", "95.45", "99", "99.73"), factors, strict=True):
        found = student_t(None if dof == "inf" else int(dof), Fraction(probability) / 100)
        assert abs(found - Fraction(expected)) <= Fraction("0.00501")


def test_full_correlation_adds_straight() -> None:
    case = CASES["correlated"]
    listed = components(case["input"]["u"])
    assert close(combine(listed, {(0, 1): Fraction(case["input"]["r"])}).u, case["expect"], case["tol"])
    assert combine(listed, {(0, 1): Fraction(-1)}).u == Fraction("0.001")
    assert combine([*listed[:1], listed[0]], {(0, 1): Fraction(-1)}).u == 0


@pytest.mark.parametrize("name", named("round_uncertainty"))
def test_rounded_uncertainties_meet_the_reference_values(name: str) -> None:
    case = CASES[name]["input"]
    assert rounded_uncertainty(Fraction(case["u"]), int(case["digits"])) == CASES[name]["expect"]


@pytest.mark.parametrize(
    ("u", "digits", "text"),
    [
        ("0", 2, "0"),
        ("123.4", 2, "120"),
        ("0.0995", 2, "0.10"),
        ("9.96", 2, "10"),
        ("1", 1, "1"),
        ("-0.031", 1, "-0.03"),
    ],
)
def test_an_uncertainty_is_rounded_to_its_digits(u: str, digits: int, text: str) -> None:
    assert rounded_uncertainty(Fraction(u), digits) == text


def test_every_reference_case_is_used() -> None:
    used = {
        "combine",
        "expanded",
        "result",
        "rectangular",
        "sensitivity",
        "type_a",
        "type_b",
        "budget",
        "student_t",
        "combine_correlated",
        "round_uncertainty",
    }
    assert {case["op"] for case in CASES.values()} == used


def test_impossible_components_are_refused() -> None:
    two = components(["1", "1"])
    for ask, code in (
        (lambda: type_a([Fraction(1)]), "UNC001"),
        (lambda: type_a([]), "UNC001"),
        (lambda: rectangular("", Fraction(-1)), "UNC002"),
        (lambda: normal("", Fraction(1), Fraction(0)), "UNC002"),
        (lambda: student_t(5, Fraction(1)), "UNC003"),
        (lambda: Budget(tuple(two)).expanded(Fraction(0)), "UNC003"),
        (lambda: combine(two, {(0, 1): Fraction(2)}), "UNC004"),
        (lambda: combine(two, {(0, 0): Fraction(1)}), "UNC004"),
        (lambda: combine(two, {(0, 2): Fraction(1)}), "UNC004"),
    ):
        with pytest.raises(Unreadable) as refusal:
            ask()
        assert refusal.value.code == code
        assert refusal.value.hint


positive = st.fractions(min_value=Fraction(1, 10**6), max_value=1000, max_denominator=10**6)


@given(st.lists(st.tuples(positive, st.integers(1, 100)), min_size=1, max_size=8))
def test_a_budget_is_at_least_its_largest_part_and_at_most_the_sum(parts: list[tuple[Fraction, int]]) -> None:
    budget = combine([Component("", u**2, Fraction(dof)) for u, dof in parts])
    us = [u for u, _ in parts]
    assert max(us) <= budget.u <= sum(us) + Fraction(1, 10**20)
    assert budget.freedom is not None
    assert min(dof for _, dof in parts) <= budget.freedom <= sum(dof for _, dof in parts)


@given(st.lists(positive, min_size=2, max_size=20), positive)
def test_shifting_readings_changes_their_mean_and_nothing_else(
    readings: list[Fraction], shift: Fraction
) -> None:
    series, shifted = type_a(readings), type_a([reading + shift for reading in readings])
    assert shifted.mean == series.mean + shift
    assert shifted.variance == series.variance
    assert series.component(readings=1).u == series.s
