import math

import numpy as np
import pytest

from traveler.trace.stats.control_chart import chart_constants, moving_range_dof

FIELDS = {
    "d2": "d2", "d3": "d3", "c4": "c4", "A2": "a2", "A3": "a3", "D3": "d3_lower", "D4": "d4_upper",
    "B3": "b3_lower", "B4": "b4_upper", "E2": "e2",
}  # fmt: skip


def test_factors_agree_with_the_printed_table(case_of_control_chart_constants, close):
    """ASTM E2587's table as reprinted; printed tables round d2 and d3 first, so within 0.0015."""
    known = chart_constants(int(case_of_control_chart_constants["input"]["n"]))
    for name, printed in case_of_control_chart_constants["expect"].items():
        assert close(getattr(known, FIELDS[name]), printed, case_of_control_chart_constants["tol"]), name


def test_the_range_of_two_and_three_readings_has_closed_forms():
    """Sample of two: 2/√π and √(2 − 4/π); of three: 3/√π (order statistics of the normal distribution)."""
    assert math.isclose(chart_constants(2).d2, 2 / math.sqrt(math.pi), rel_tol=1e-11)
    assert math.isclose(chart_constants(2).d3, math.sqrt(2 - 4 / math.pi), rel_tol=1e-11)
    assert math.isclose(chart_constants(3).d2, 3 / math.sqrt(math.pi), rel_tol=1e-11)


@pytest.mark.parametrize("n", [2, 5, 10, 25])
def test_factors_agree_with_drawn_samples(n):
    samples = np.random.default_rng(7).normal(size=(40_000, n))
    ranges = np.ptp(samples, axis=1)
    assert math.isclose(chart_constants(n).d2, ranges.mean(), rel_tol=0.01)
    assert math.isclose(chart_constants(n).d3, ranges.std(), rel_tol=0.03)
    assert math.isclose(chart_constants(n).c4, samples.std(axis=1, ddof=1).mean(), rel_tol=0.01)


@pytest.mark.parametrize("n", [-1, 0, 1, 101])
def test_other_sizes_are_refused(n):
    with pytest.raises(ValueError, match="2 to 100"):
        chart_constants(n)


@pytest.mark.parametrize("n", [2, 3, 10, 40])
def test_degrees_of_freedom_of_moving_ranges_give_the_spread_of_drawn_estimates(n):
    samples = np.random.default_rng(3).normal(size=(40_000, n))
    sigmas = np.abs(np.diff(samples, axis=1)).mean(axis=1) / (2 / math.sqrt(math.pi))
    drawn = sigmas.std() / sigmas.mean()
    chi = np.sqrt(np.random.default_rng(4).chisquare(moving_range_dof(n), 40_000))
    assert math.isclose(drawn, chi.std() / chi.mean(), rel_tol=0.03)


def test_one_moving_range_is_worth_one_degree_of_freedom():
    assert math.isclose(moving_range_dof(2), 1, rel_tol=1e-9)
    assert math.isclose(moving_range_dof(2000) / 1999, 0.605, abs_tol=0.001)
    with pytest.raises(ValueError, match="two readings"):
        moving_range_dof(1)
