"""Acceptance zones and statements against the reference values, and what a guard band may never do."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.uncertainty import (
    Zone,
    acceptance_zone,
    proven,
    rejection_zone,
    statement,
    width_over_uncertainty,
)

REFERENCE = yaml.load(
    (Path(__file__).parent.parent / "reference" / "decision_rules.yaml").read_text(encoding="utf-8"),
    Loader=yaml.BaseLoader,  # noqa: S506 - makes texts only
)


def cases(op: str) -> dict[str, dict[str, dict[str, str]]]:
    return {case["id"]: case for case in REFERENCE["cases"] if case["op"] == op}


def number(text: str | None) -> Fraction | None:
    return None if text in (None, "null") else Fraction(text)


def tolerance(given_: dict[str, str]) -> Zone:
    return Zone(number(given_.get("lower")), number(given_.get("upper")))


ZONES, REJECTION, THREE, BINARY, NON_BINARY, RATIO = (
    cases(op)
    for op in (
        "acceptance_zone",
        "rejection_zone",
        "three_way_verdict",
        "binary_verdict",
        "non_binary_verdict",
        "tur",
    )
)


@pytest.mark.parametrize("name", ZONES)
def test_acceptance_zones_meet_the_reference_values(name: str) -> None:
    given_, expected = ZONES[name]["input"], ZONES[name]["expect"]
    guard_band = Fraction(given_.get("r") or given_["factor_on_U"]) * Fraction(given_["U_k2"])
    assert guard_band == Fraction(expected["guard_band"])
    assert acceptance_zone(tolerance(given_), guard_band) == tuple(map(number, expected["acceptance"]))


@pytest.mark.parametrize("name", REJECTION)
def test_rejection_zones_meet_the_reference_values(name: str) -> None:
    given_, expected = REJECTION[name]["input"], REJECTION[name]["expect"]
    zone = rejection_zone(tolerance(given_), Fraction(given_["U_k2"]))
    assert zone == (Fraction(expected["reject_below"]), Fraction(expected["reject_above"]))


@pytest.mark.parametrize("name", THREE)
def test_what_a_reading_proves_meets_the_reference_values(name: str) -> None:
    given_ = THREE[name]["input"]
    found = proven(Fraction(given_["y"]), tolerance(given_), Fraction(given_["U_k2"]))
    assert found == THREE[name]["expect"]


@pytest.mark.parametrize("name", BINARY)
def test_binary_statements_meet_the_reference_values(name: str) -> None:
    given_ = BINARY[name]["input"]
    guard_band = Fraction(0) if given_["rule"] == "simple" else Fraction(given_["U_k2"])
    accepted = acceptance_zone(tolerance(given_), guard_band)
    assert accepted is not None
    assert ("pass" if accepted.holds(Fraction(given_["y"])) else "fail") == BINARY[name]["expect"]


@pytest.mark.parametrize("name", NON_BINARY)
def test_non_binary_statements_meet_the_reference_values(name: str) -> None:
    given_ = NON_BINARY[name]["input"]
    found = statement(Fraction(given_["y"]), tolerance(given_), Fraction(given_["U_k2"]))
    assert found == NON_BINARY[name]["expect"]


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        ("10.03", "pass"), ("10.031", "conditional pass"), ("10.05", "conditional pass"),
        ("10.051", "conditional fail"), ("10.07", "conditional fail"), ("10.0701", "fail"), ("9.92", "fail"),
    ],
)  # fmt: skip
def test_non_binary_statements_change_at_the_four_bounds(reading: str, said: str) -> None:
    zone = Zone(Fraction("9.95"), Fraction("10.05"))
    assert statement(Fraction(reading), zone, Fraction("0.02")) == said


@pytest.mark.parametrize("name", RATIO)
def test_uncertainty_ratios_meet_the_reference_values(name: str) -> None:
    given_ = RATIO[name]["input"]
    ratio = width_over_uncertainty(tolerance(given_), Fraction(given_["U95"]))
    assert ratio == Fraction(RATIO[name]["expect"])


@pytest.mark.parametrize(
    ("lower", "upper", "uncertainty", "ratio"),
    [
        (None, "0.05", "0.003", "25/3"),  # a run-out: from nothing to its limit
        ("8", None, "0.5", "8"),
        (None, "0", "0.003", None),
        (None, None, "0.003", None),
        ("9", "11", "0", None),
    ],
)
def test_one_bound_stands_for_its_distance_from_zero(
    lower: str | None, upper: str | None, uncertainty: str, ratio: str | None
) -> None:
    found = width_over_uncertainty(Zone(number(lower), number(upper)), Fraction(uncertainty))
    assert found == number(ratio)


fractions = st.fractions(min_value=-1000, max_value=1000, max_denominator=1000)
widths = st.fractions(min_value=0, max_value=100, max_denominator=1000)


@given(fractions, widths, widths, widths)
def test_an_acceptance_zone_lies_inside_the_tolerance_shrinks_and_vanishes(
    low: Fraction, width: Fraction, guard: Fraction, more: Fraction
) -> None:
    specified = Zone(low, low + width)
    zone, smaller = acceptance_zone(specified, guard), acceptance_zone(specified, guard + more)
    assert (zone is None) == (2 * guard > width)
    if zone is not None:
        assert specified.lower <= zone.lower <= zone.upper <= specified.upper
        assert zone.width == width - 2 * guard
    if smaller is not None:
        assert zone is not None
        assert zone.lower <= smaller.lower <= smaller.upper <= zone.upper


@given(fractions, fractions, widths, widths)
def test_nothing_is_proven_both_ways(
    value: Fraction, low: Fraction, width: Fraction, uncertainty: Fraction
) -> None:
    specified = Zone(low, low + width)
    found = proven(value, specified, uncertainty)
    if found == "pass":
        assert specified.holds(value)
    if found == "fail":
        assert not specified.holds(value)


@given(fractions, fractions, widths)
def test_the_margin_is_negative_exactly_outside(value: Fraction, low: Fraction, width: Fraction) -> None:
    zone = Zone(low, low + width)
    assert (zone.margin(value) >= 0) == zone.holds(value)
    assert Zone(None, None).margin(value) == 0
    assert Zone(low, None).margin(value) == value - low
