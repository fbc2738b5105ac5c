"""Conformance probabilities against the reference values and an independent distribution."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.measure.distributions import conformance_probability
from traveler.measure.judge import judge_reading
from traveler.measure.limits import parse_limits
from traveler.measure.quantity import Quantity

REFERENCE = yaml.load(
    (Path(__file__).parents[1] / "reference" / "decision_rules.yaml").read_text(encoding="utf-8"),
    Loader=yaml.CBaseLoader,  # noqa: S506 - makes texts only
)
CONFORMANCE = {case["id"]: case for case in REFERENCE["cases"] if case["op"] == "conformance_probability"}


def chance(
    value: Fraction | str, u: Fraction | str, lower: Fraction | str | None, upper: Fraction | str | None
) -> float:
    low, high = (None if bound is None else Fraction(bound) for bound in (lower, upper))
    return conformance_probability(Fraction(value), Fraction(u), low, high)


@pytest.mark.parametrize("name", CONFORMANCE)
def test_conformance_probabilities_meet_the_reference_values(name: str) -> None:
    case = CONFORMANCE[name]
    given_ = case["input"]
    found = chance(given_["y"], given_["u"], given_.get("lower"), given_.get("upper"))
    assert found == pytest.approx(float(case["expect"]), abs=float(case["tol"]))


fractions = st.fractions(min_value=-100, max_value=100, max_denominator=1000)
widths = st.fractions(min_value=Fraction(1, 1000), max_value=100, max_denominator=1000)


@settings(deadline=None)  # the first example loads the library
@given(fractions, widths, fractions, widths)
def test_the_probability_agrees_with_an_independent_distribution(
    low: Fraction, width: Fraction, value: Fraction, u: Fraction
) -> None:
    from scipy.stats import norm

    found = chance(value, u, low, low + width)
    known = norm(float(value), float(u))
    assert 0 <= found <= 1
    assert found == pytest.approx(known.cdf(float(low + width)) - known.cdf(float(low)), abs=1e-8)
    mirrored = chance(-value, u, -low - width, -low)
    assert found == pytest.approx(mirrored, abs=1e-15)


def test_small_tails_keep_their_digits() -> None:
    from scipy.stats import norm

    tail = chance("10", "1", None, "0")
    assert tail == pytest.approx(norm.cdf(-10), rel=1e-12)
    assert chance("-10", "1", "0", "1") > 0


@pytest.mark.parametrize(("value", "expected"), [("1", 1), ("1.5", 1), ("2", 1), ("2.001", 0), ("0.9", 0)])
def test_without_uncertainty_a_reading_is_in_or_out(value: str, expected: int) -> None:
    assert chance(value, "0", "1", "2") == expected


def test_bounds_too_far_to_write_are_infinitely_far() -> None:
    far = Fraction(10) ** 400
    assert chance("0", "1", -far, far) == 1
    assert chance("0", "1", far, None) == 0


@pytest.mark.parametrize(
    ("value", "u", "text"),
    [
        ("0", "0", "1"), ("9", "0", "0"), ("0", "0.2", "0.999999"), ("7", "1", "0.000001"),
        ("1", "1", "0.477250"),
    ],
)  # fmt: skip
def test_only_certainty_is_written_as_1_or_0(value: str, u: str, text: str) -> None:
    reading, expanded = (Quantity(Fraction(number), "mm", "", 3) for number in (value, u))
    found = judge_reading(parse_limits("-1 to 1 mm"), reading, uncertainty=expanded, k=Fraction(1))
    assert found.probability == text
