"""Probabilities and risks against the reference values and an independent simulation."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from traveler.measure.number import Unreadable
from traveler.measure.uncertainty import (
    Zone,
    acceptance_zone,
    conformance_probability,
    false_accept_at_limit,
    global_risks,
    guard_factor_for,
    managed_guard_factor,
    probability_text,
    shrunk_tolerance_factor,
)

REFERENCE = yaml.load(
    (Path(__file__).parent.parent / "reference" / "decision_rules.yaml").read_text(encoding="utf-8"),
    Loader=yaml.BaseLoader,  # noqa: S506 - makes texts only
)


def cases(op: str) -> dict[str, dict[str, dict[str, str]]]:
    return {case["id"]: case for case in REFERENCE["cases"] if case["op"] == op}


def zone(given_: dict[str, str]) -> Zone:
    return Zone(*(Fraction(given_[end]) if end in given_ else None for end in ("lower", "upper")))


CONFORMANCE = cases("conformance_probability")
FALSE_ACCEPT = cases("specific_false_accept_at_acceptance_limit")
MANAGED = cases("managed_guard_band_M")
SQUARES = cases("root_difference_of_squares_guard_band")
RISKS = cases("global_risks")


@pytest.mark.parametrize("name", CONFORMANCE)
def test_conformance_probabilities_meet_the_reference_values(name: str) -> None:
    case = CONFORMANCE[name]
    given_ = case["input"]
    found = conformance_probability(Fraction(given_["y"]), Fraction(given_["u"]), zone(given_))
    assert found == pytest.approx(float(case["expect"]), abs=float(case["tol"]))


@pytest.mark.parametrize("name", FALSE_ACCEPT)
def test_false_accepts_at_the_acceptance_limit_meet_the_reference_values(name: str) -> None:
    case = FALSE_ACCEPT[name]
    found = false_accept_at_limit(Fraction(case["input"]["r"]), Fraction(case["input"]["k"]))
    assert found == pytest.approx(float(case["expect"]), abs=float(case["tol"]))


def test_the_guard_factor_of_95_percent_meets_the_reference_value() -> None:
    case = cases("guard_band_factor")["iso14253_z95"]
    found = guard_factor_for(Fraction(case["input"]["one_sided_confidence"]))
    assert found == pytest.approx(float(case["expect"]), abs=float(case["tol"]))


@pytest.mark.parametrize("name", MANAGED)
def test_managed_guard_bands_meet_the_reference_values(name: str) -> None:
    case = MANAGED[name]
    found = managed_guard_factor(Fraction(case["input"]["TUR"]))
    assert found == pytest.approx(float(case["expect"]), abs=float(case["tol"]))


@pytest.mark.parametrize("name", SQUARES)
def test_root_difference_of_squares_meets_the_reference_values(name: str) -> None:
    case = SQUARES[name]
    found = shrunk_tolerance_factor(Fraction(case["input"]["TUR"]))
    assert found == pytest.approx(float(case["expect"]), abs=float(case["tol"]))


@pytest.mark.parametrize("name", RISKS)
def test_global_risks_meet_the_reference_values(name: str) -> None:
    case = RISKS[name]
    given_ = case["input"]
    specified = zone(given_)
    found = global_risks(
        Fraction(given_["process_mean"]),
        Fraction(given_["process_sd"]),
        specified,
        Fraction(given_["u_measure"]),
        acceptance_zone(specified, Fraction(given_["guard_band"])),
    )
    assert found.consumer == pytest.approx(float(case["expect"]["consumer_risk"]), abs=float(case["tol"]))
    assert found.producer == pytest.approx(float(case["expect"]["producer_risk"]), abs=float(case["tol"]))


def test_every_reference_case_is_used() -> None:
    elsewhere = {
        "acceptance_zone",
        "rejection_zone",
        "three_way_verdict",
        "binary_verdict",
        "non_binary_verdict",
        "tur",
        "guard_band_factor",
    }
    here = {
        case["op"]
        for table in (CONFORMANCE, FALSE_ACCEPT, MANAGED, SQUARES, RISKS)
        for case in table.values()
    }
    assert {case["op"] for case in REFERENCE["cases"]} == here | elsewhere


@pytest.mark.parametrize(
    ("lower", "upper", "guard"),
    [(-2, 2, 0), (-2, 1, Fraction(1, 5)), (None, 1, Fraction(1, 10)), (-1, None, Fraction(-1, 5))],
)
def test_global_risks_agree_with_a_simulation(
    lower: int | None, upper: int | None, guard: int | Fraction
) -> None:
    specified = Zone(*(None if bound is None else Fraction(bound) for bound in (lower, upper)))
    accepted = acceptance_zone(specified, Fraction(guard))
    assert accepted is not None
    found = global_risks(Fraction(1, 10), Fraction(1), specified, Fraction(3, 10), accepted)
    draw = np.random.default_rng(20260914)
    true = draw.normal(0.1, 1, 1_000_000)
    read = true + draw.normal(0, 0.3, true.size)

    def holds(bounds: Zone, values: np.ndarray) -> np.ndarray:
        low, high = (float(bounds.lower or -99), float(bounds.upper or 99))
        return (values >= low) & (values <= high)

    good, passed = holds(specified, true), holds(accepted, read)
    assert found.consumer == pytest.approx((~good & passed).mean(), abs=0.001)
    assert found.producer == pytest.approx((good & ~passed).mean(), abs=0.001)


@pytest.mark.parametrize("u", ["1e-3", "1e-6", "1e-9"])
def test_global_risks_stay_right_when_the_gauge_is_very_good(u: str) -> None:
    """Near the bounds the risk is u · φ(bound) / √(2π) on each side, to first order in u."""
    specified = Zone(Fraction(-1), Fraction(1))
    found = global_risks(Fraction(0), Fraction(1), specified, Fraction(u), specified)
    expected = 2 * float(Fraction(u)) * norm.pdf(1) / (2 * np.pi) ** 0.5
    assert found.consumer == pytest.approx(expected, rel=0.01)


def test_a_vanished_acceptance_zone_rejects_all_that_is_good() -> None:
    found = global_risks(Fraction(0), Fraction(1), Zone(Fraction(-1), Fraction(1)), Fraction(1), None)
    assert found.consumer == 0
    assert found.producer == pytest.approx(0.682689, abs=1e-6)


fractions = st.fractions(min_value=-100, max_value=100, max_denominator=1000)
widths = st.fractions(min_value=Fraction(1, 1000), max_value=100, max_denominator=1000)


@given(fractions, widths, fractions, widths)
def test_the_probability_agrees_with_an_independent_distribution(
    low: Fraction, width: Fraction, value: Fraction, u: Fraction
) -> None:
    found = conformance_probability(value, u, Zone(low, low + width))
    known = norm(float(value), float(u))
    assert 0 <= found <= 1
    assert found == pytest.approx(known.cdf(float(low + width)) - known.cdf(float(low)), abs=1e-8)
    mirrored = conformance_probability(-value, u, Zone(-low - width, -low))
    assert found == pytest.approx(mirrored, abs=1e-15)


def test_small_tails_keep_their_digits() -> None:
    tail = conformance_probability(Fraction(10), Fraction(1), Zone(None, Fraction(0)))
    assert tail == pytest.approx(norm.cdf(-10), rel=1e-12)
    assert conformance_probability(Fraction(-10), Fraction(1), Zone(Fraction(0), Fraction(1))) > 0


@pytest.mark.parametrize(("value", "chance"), [("1", 1.0), ("2", 1.0), ("2.001", 0.0)])
def test_without_uncertainty_a_reading_is_in_or_out(value: str, chance: float) -> None:
    assert conformance_probability(Fraction(value), Fraction(0), Zone(Fraction(1), Fraction(2))) == chance


def test_bounds_too_far_to_write_are_infinitely_far() -> None:
    far = Fraction(10) ** 400
    assert conformance_probability(Fraction(0), Fraction(1), Zone(-far, far)) == 1
    assert conformance_probability(Fraction(0), Fraction(1), Zone(far, None)) == 0


@pytest.mark.parametrize(
    ("probability", "text"),
    [(1.0, "1"), (0.0, "0"), (0.9999999, "0.999999"), (1e-9, "0.000001"), (0.5, "0.500000")],
)
def test_only_what_is_sure_is_written_as_one_or_nothing(probability: float, text: str) -> None:
    assert probability_text(probability) == text


def test_a_good_ratio_needs_no_guard_band() -> None:
    assert managed_guard_factor(Fraction(10)) == 0
    assert shrunk_tolerance_factor(Fraction(1)) == 0


def test_impossible_questions_are_refused() -> None:
    specified = Zone(Fraction(0), Fraction(1))
    for ask, code in (
        (lambda: conformance_probability(Fraction(0), Fraction(-1), specified), "DEC003"),
        (lambda: global_risks(Fraction(0), Fraction(0), specified, Fraction(1), specified), "DEC003"),
        (lambda: global_risks(Fraction(0), Fraction(1), specified, Fraction(0), specified), "DEC003"),
        (lambda: guard_factor_for(Fraction(1)), "DEC006"),
        (lambda: managed_guard_factor(Fraction(0)), "DEC007"),
        (lambda: shrunk_tolerance_factor(Fraction(1, 2)), "DEC007"),
    ):
        with pytest.raises(Unreadable) as refusal:
            ask()
        assert refusal.value.code == code
