"""Rounding to the even digit, and the two methods of ASTM E29, against the reference values."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.judge import judge_reading
from traveler.measure.limits import parse_limits
from traveler.measure.number import exact_text, inward, round_to, to_decimals
from traveler.measure.quantity import parse_quantity

REFERENCE = yaml.load(
    (Path(__file__).parents[1] / "reference" / "rounding.yaml").read_text(encoding="utf-8"),
    Loader=yaml.CBaseLoader,  # noqa: S506 - makes texts only
)
EVEN = {case["id"]: case for case in REFERENCE["cases"] if case["op"] == "round_half_even"}
COMPARED = {case["id"]: case for case in REFERENCE["cases"] if case["op"] == "compare_with_limit"}


@pytest.mark.parametrize("name", EVEN)
def test_rounding_meets_the_reference_values(name: str) -> None:
    case = EVEN[name]
    rounded = round_to(Fraction(case["input"]["value"]), Fraction(case["input"]["to"]))
    assert rounded == Fraction(case["expect"])


@pytest.mark.parametrize("name", COMPARED)
def test_both_methods_of_comparing_meet_the_reference_values(name: str) -> None:
    case = COMPARED[name]
    observed, step = Fraction(case["input"]["observed"]), Fraction(case["input"]["round_to"])
    low, high = (Fraction(case["input"][end]) if end in case["input"] else None for end in ("min", "max"))
    rounded = round_to(observed, step)

    def conforms(value: Fraction) -> bool:
        return (low is None or value >= low) and (high is None or value <= high)

    expected = case["expect"]
    assert rounded == Fraction(expected["rounded"])
    assert str(conforms(rounded)).lower() == expected["rounding_method_conforms"]
    assert str(conforms(observed)).lower() == expected["absolute_method_conforms"]


@pytest.mark.parametrize(
    "name", [name for name, case in COMPARED.items() if "." in case["input"]["round_to"]]
)
def test_a_judgement_by_either_method_meets_the_reference_values(name: str) -> None:
    """The last written digit of the limit decides the place, so limits are written to ``round_to`` here."""
    case = COMPARED[name]["input"]
    decimals = len(case["round_to"].partition(".")[2])
    written = {end: exact_text(Fraction(case[end]), decimals) for end in ("min", "max") if end in case}
    both = "{min} to {max} %" if len(written) == 2 else "".join(f"{end} {{{end}}} %" for end in written)
    limits = parse_limits(both.format(**written))
    reading = parse_quantity(f"{case['observed']} %")
    expected = COMPARED[name]["expect"]
    by_rounding = judge_reading(limits, reading, rounding="rounding").state == "in"
    absolutely = judge_reading(limits, reading, rounding="absolute").state == "in"
    assert str(by_rounding).lower() == expected["rounding_method_conforms"]
    assert str(absolutely).lower() == expected["absolute_method_conforms"]


def test_the_written_digits_of_the_limit_decide_the_place() -> None:
    reading = parse_quantity("4.25 mm")
    assert judge_reading(parse_limits("max 4 mm"), reading, rounding="rounding").state == "in"
    assert judge_reading(parse_limits("max 4.0 mm"), reading, rounding="rounding").state == "out"


@given(st.fractions(), st.fractions(min_value=Fraction(1, 1000)))
def test_a_rounded_value_is_a_multiple_at_most_half_a_step_away(value: Fraction, step: Fraction) -> None:
    rounded = round_to(value, step)
    assert (rounded / step).denominator == 1
    assert abs(rounded - value) <= step / 2
    assert round_to(rounded, step) == rounded
    assert round_to(-value, step) == -rounded


@given(st.fractions(), st.integers(0, 8))
def test_rounding_to_decimals_is_rounding_to_their_step(value: Fraction, decimals: int) -> None:
    assert to_decimals(value, decimals) == round_to(value, Fraction(1, 10**decimals))


@given(st.fractions(), st.fractions(min_value=0), st.integers(0, 6))
def test_inward_rounding_never_widens(low: Fraction, width: Fraction, decimals: int) -> None:
    lower, upper = inward(low, low + width, decimals)
    assert lower is not None
    assert upper is not None
    assert low <= lower < low + Fraction(1, 10**decimals)
    assert low + width - Fraction(1, 10**decimals) < upper <= low + width


def test_inward_rounding_leaves_a_missing_bound_missing() -> None:
    assert inward(None, Fraction("0.0199"), 3) == (None, Fraction("0.019"))
