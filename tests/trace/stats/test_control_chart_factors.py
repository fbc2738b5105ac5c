import math

import numpy as np
import pytest

from traveler.trace.stats.control_chart import D2, D3, D4, moving_range_dof


def test_factors_agree_with_the_printed_table(case_of_control_chart_constants, close):
    """ASTM E2587's table as reprinted; printed tables round d2 and d3 first, so within 0.0015."""
    known = {"d2": D2, "d3": D3, "D4": D4}
    printed = case_of_control_chart_constants["expect"]
    for name, factor in known.items():
        assert close(float(factor), printed[name], case_of_control_chart_constants["tol"]), name


def test_factors_agree_with_drawn_samples():
    ranges = np.ptp(np.random.default_rng(7).normal(size=(40_000, 2)), axis=1)
    assert math.isclose(D2, ranges.mean(), rel_tol=0.01)
    assert math.isclose(D3, ranges.std(), rel_tol=0.03)
    assert math.isclose(D4, 1 + 3 * ranges.std() / ranges.mean(), rel_tol=0.03)


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
