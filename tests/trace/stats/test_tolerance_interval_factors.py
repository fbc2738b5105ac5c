from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.trace.stats.numbers import exact
from traveler.trace.stats.tolerance_interval import howe_factor, one_sided_factor, two_sided_factor


def test_factors_agree_with_published_and_independently_computed_ones(case_of_tolerance_factor):
    """ISO 16269-6 by its definition; NIST/SEMATECH e-Handbook's example of 43 readings."""
    given_ = case_of_tolerance_factor["input"]
    arguments = int(given_["n"]), exact(given_["coverage"]), exact(given_["confidence"])
    found = {
        "k1_exact": one_sided_factor(*arguments),
        "k2_exact": two_sided_factor(*arguments),
        "k2_howe": howe_factor(*arguments),
    }
    compared = [name for name in case_of_tolerance_factor["expect"] if name in found]
    assert len(compared) == 3
    for name in compared:
        gap = abs(exact(found[name]) - exact(case_of_tolerance_factor["expect"][name]))
        assert gap <= exact(case_of_tolerance_factor["tol"]), name


@pytest.mark.parametrize(("n", "coverage"), [(5, 0.9), (20, 0.95), (60, 0.99)])
def test_intervals_hold_their_coverage_as_often_as_they_promise(n, coverage):
    """40,000 drawn samples; the share whose interval covers enough is the confidence within 0.5 %."""
    from scipy.special import ndtr

    drawn = np.random.default_rng(9).normal(size=(40_000, n))
    mean, sd = drawn.mean(axis=1), drawn.std(axis=1, ddof=1)
    k2 = float(two_sided_factor(n, Fraction(str(coverage))))
    k1 = float(one_sided_factor(n, Fraction(str(coverage))))
    assert abs((ndtr(mean + k2 * sd) - ndtr(mean - k2 * sd) >= coverage).mean() - 0.95) < 0.005
    assert abs((ndtr(mean + k1 * sd) >= coverage).mean() - 0.95) < 0.005


SHARES = st.integers(50, 99).map(lambda number: Fraction(number, 100))


@settings(max_examples=25)
@given(st.integers(2, 300), SHARES, SHARES)
def test_factors_fall_with_more_readings_and_rise_with_more_coverage(n, coverage, confidence):
    k2 = two_sided_factor(n, coverage, confidence)
    assert two_sided_factor(n + 5, coverage, confidence) < k2 or confidence == Fraction(1, 2)
    assert k2 > one_sided_factor(n, coverage, confidence)
    assert k2 < two_sided_factor(n, (coverage + 1) / 2, confidence)


@pytest.mark.parametrize("wrong", [(1, "0.9", "0.9"), (5, "0.4", "0.9"), (5, "1", "0.9"), (5, "0.9", "0")])
def test_impossible_requests_are_refused(wrong):
    with pytest.raises(ValueError, match="no tolerance factor"):
        two_sided_factor(wrong[0], Fraction(wrong[1]), Fraction(wrong[2]))
