"""Acceptance limits and the uncertainty ratio against the reference values; what a guard band may not do."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.judge import acceptance, judge_reading
from traveler.measure.limits import Limits
from traveler.measure.quantity import Quantity

REFERENCE = yaml.load(
    (Path(__file__).parents[1] / "reference" / "decision_rules.yaml").read_text(encoding="utf-8"),
    Loader=yaml.CBaseLoader,  # noqa: S506 - makes texts only
)


def cases(op: str) -> dict[str, dict[str, dict[str, str]]]:
    return {case["id"]: case for case in REFERENCE["cases"] if case["op"] == op}


def number(text: str | None) -> Fraction | None:
    return None if text in (None, "null") else Fraction(text)


def limits_of(given_: dict[str, str], unit: str = "mm") -> Limits:
    return Limits("", number(given_.get("lower")), number(given_.get("upper")), None, unit, 3)


def quantity(value: str | Fraction, unit: str = "mm") -> Quantity:
    return Quantity(Fraction(value), unit, "", 3)


ZONES, BINARY, RATIO = (cases(op) for op in ("acceptance_zone", "binary_verdict", "tur"))


@pytest.mark.parametrize("name", ZONES)
def test_acceptance_limits_meet_the_reference_values(name: str) -> None:
    given_, expected = ZONES[name]["input"], ZONES[name]["expect"]
    factor, uncertainty = Fraction(given_.get("r") or given_["factor_on_U"]), Fraction(given_["U_k2"])
    assert factor * uncertainty == Fraction(expected["guard_band"])
    accepted, problems = acceptance(limits_of(given_), uncertainty, factor)
    assert accepted is not None
    assert problems == ()
    assert [accepted.lower, accepted.upper] == [number(bound) for bound in expected["acceptance"]]


@pytest.mark.parametrize("name", BINARY)
def test_binary_statements_meet_the_reference_values(name: str) -> None:
    given_ = BINARY[name]["input"]
    uncertainty = quantity(given_["U_k2"])
    found = judge_reading(
        limits_of(given_), quantity(given_["y"]), rule=given_["rule"], uncertainty=uncertainty
    )
    assert ("pass" if found.state == "in" else "fail") == BINARY[name]["expect"]


def ratio(given_: dict[str, str], uncertainty: str, unit: str = "mm") -> Fraction | None:
    found = judge_reading(
        limits_of(given_, unit), quantity("0", unit), uncertainty=quantity(uncertainty, unit)
    )
    return found.ratio


@pytest.mark.parametrize("name", RATIO)
def test_uncertainty_ratios_meet_the_reference_values(name: str) -> None:
    given_ = RATIO[name]["input"]
    assert ratio(given_, given_["U95"]) == Fraction(RATIO[name]["expect"])


@pytest.mark.parametrize(
    ("given_", "uncertainty", "expected"),
    [
        ({"upper": "0.05"}, "0.003", "25/3"),  # a run-out: from nothing to its limit
        ({"lower": "8"}, "0.5", "8"),
        ({"upper": "0"}, "0.003", None),
        ({}, "0.003", None),
        ({"lower": "9", "upper": "11"}, "0", None),
    ],
)
def test_one_bound_stands_for_its_distance_from_zero(
    given_: dict[str, str], uncertainty: str, expected: str | None
) -> None:
    assert ratio(given_, uncertainty) == number(expected)


@pytest.mark.parametrize("unit", ["°C", "°F", "dB", "dB(A)"])
def test_one_bound_has_no_ratio_where_zero_is_only_agreed_upon(unit: str) -> None:
    assert ratio({"upper": "40"}, "1", unit) is None
    assert ratio({"lower": "20", "upper": "40"}, "1", unit) == 10


def test_every_reference_case_is_used() -> None:
    assert {case["op"] for case in REFERENCE["cases"]} == {
        "acceptance_zone", "binary_verdict", "tur", "conformance_probability",
    }  # fmt: skip


fractions = st.fractions(min_value=-1000, max_value=1000, max_denominator=1000)
widths = st.fractions(min_value=0, max_value=100, max_denominator=1000)


@given(fractions, widths, widths, widths)
def test_acceptance_limits_lie_inside_the_tolerance_shrink_and_vanish(
    low: Fraction, width: Fraction, guard: Fraction, more: Fraction
) -> None:
    specified = Limits("", low, low + width, None, "mm", 3)
    accepted, smaller = (acceptance(specified, band)[0] for band in (guard, guard + more))
    if 2 * guard > width:
        assert accepted is None
    if accepted is not None:
        assert low + guard <= accepted.lower <= accepted.upper <= low + width - guard
        assert accepted.lower - low - guard < Fraction(1, 10**6)
    if smaller is not None:
        assert accepted is not None
        assert accepted.lower <= smaller.lower <= smaller.upper <= accepted.upper


@given(fractions, fractions, widths)
def test_the_margin_is_negative_and_the_excess_not_zero_exactly_outside(
    value: Fraction, low: Fraction, width: Fraction
) -> None:
    limits = Limits("", low, low + width, None, "mm", 3)
    assert (limits.margin(value) >= 0) == limits.holds(value) == (limits.excess(value) == 0)
    if not limits.holds(value):
        assert abs(limits.excess(value)) == -limits.margin(value)
        assert limits.holds(value - limits.excess(value))
    assert Limits("", None, None, None, "mm", 3).margin(value) == 0
    assert Limits("", low, None, None, "mm", 3).margin(value) == value - low
