from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.stats.numbers import exact
from traveler.trace.stats.tolerance_interval import (
    distribution_free_interval,
    howe_factor,
    normal_interval,
    one_sided_factor,
    readings_needed,
    two_sided_factor,
)

READINGS = [f"{value:.3f}" for value in np.random.default_rng(1).normal(97, 0.03, 43)]


def test_the_interval_of_a_known_mean_and_spread_agrees_with_the_published_one(case_of_tolerance_interval):
    """NIST/SEMATECH e-Handbook: 43 readings, 90 % coverage, 99 % confidence, Howe's factor."""
    given_, expect = case_of_tolerance_interval["input"], case_of_tolerance_interval["expect"]
    factor = howe_factor(int(given_["n"]), exact(given_["coverage"]), exact(given_["confidence"]))
    reach = exact(factor) * exact(given_["sd"])
    for sign, name in ((-1, "lower"), (1, "upper")):
        assert abs(exact(given_["mean"]) + sign * reach - exact(expect[name])) <= exact(
            case_of_tolerance_interval["tol"]
        )


def test_the_normal_interval_is_mean_and_factor_times_spread():
    both, upper, lower = (normal_interval(READINGS, side=side) for side in ("both", "upper", "lower"))
    assert both.factor == two_sided_factor(43)
    assert upper.factor == lower.factor == one_sided_factor(43)
    assert (upper.lower, lower.upper) == (None, None)
    assert both.lower < lower.lower < upper.upper < both.upper
    assert both.sentence.startswith("At least 95 % of all units lie between 9")
    assert upper.sentence.startswith("At least 95 % of all units lie at or below 97.")
    assert lower.sentence.endswith(", if they are normal (confidence 95 %).")


@pytest.mark.parametrize(
    ("ends", "coverage", "confidence", "needed"),
    [
        (2, "0.95", "0.95", 93),
        (1, "0.95", "0.95", 59),
        (2, "0.99", "0.95", 473),
        (1, "0.99", "0.95", 299),
        (2, "0.9", "0.9", 38),
        (1, "0.9", "0.9", 22),
    ],
)
def test_how_many_readings_the_extremes_need(ends, coverage, confidence, needed):
    """Wilks 1941; the numbers stand in every table of distribution-free intervals (from memory)."""
    assert readings_needed(ends, Fraction(coverage), Fraction(confidence)) == needed


def test_too_few_readings_give_the_confidence_they_can():
    """Extremes of n: 1 − n p^(n−1) + (n − 1) p^n."""
    found = distribution_free_interval(READINGS)
    p = 0.95
    assert abs(float(found.attained) - (1 - 43 * p**42 + 42 * p**43)) < 1e-10
    assert (found.enough, found.needed) == (False, 93)
    assert found.sentence.endswith("95 % needs 93 readings and there are 43.")
    assert (found.lower, found.upper) == (min(map(exact, READINGS)), max(map(exact, READINGS)))


def test_many_readings_let_the_outermost_go():
    readings = [str(number) for number in range(1000)]
    found = distribution_free_interval(readings)
    assert found.attained >= Fraction(95, 100)
    assert found.lower > 0
    assert found.upper < 999
    assert abs((found.lower - 0) - (999 - found.upper)) <= 1


def test_distribution_free_intervals_hold_their_coverage_as_often_as_they_promise():
    drawn = np.random.default_rng(12).integers(0, 10**6, (1500, 120))
    held = 0
    for sample in drawn:
        found = distribution_free_interval([int(item) for item in sample], coverage=Fraction(9, 10))
        held += (found.upper - found.lower) / 10**6 >= Fraction(9, 10)
    assert held / 1500 > 0.94


@pytest.mark.parametrize(("find", "needed"), [(normal_interval, 2), (distribution_free_interval, 93)])
def test_without_readings_it_says_how_many_are_needed(find, needed):
    found = find([])
    assert (found.lower, found.upper, found.enough) == (None, None, False)
    assert found.sentence == f"0 readings: no tolerance interval; at least {needed} are needed."


@given(
    st.lists(st.integers(-50, 50), min_size=2, max_size=200),
    st.sampled_from(["both", "upper", "lower"]),
)
def test_bounds_are_readings_and_in_order(readings, side):
    found = distribution_free_interval(readings, side=side)
    bounds = [value for value in (found.lower, found.upper) if value is not None]
    assert len(bounds) == (2 if side == "both" else 1)
    assert set(bounds) <= set(readings)
    assert bounds == sorted(bounds)
