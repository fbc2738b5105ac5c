from decimal import Decimal
from fractions import Fraction

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.stats.summary import summarize

READINGS = st.lists(st.decimals(min_value=-1000, max_value=1000, places=3), min_size=2, max_size=40)


def check_strd(case, strd, tolerance):
    readings = [row["value"] for row in strd(case["input"]["csv"])]
    assert len(readings) == int(case["input"]["n"])
    summary = summarize(readings)
    for found, name in ((summary.mean, "mean"), (summary.sd, "sd"), (summary.lag1, "lag1_autocorrelation")):
        certified = Fraction(case["expect"][name])
        assert abs(Fraction(found) - certified) <= abs(certified) * tolerance, name


def test_certified_values_of_nist_are_met_to_the_last_printed_digit(case_of_mean_sd_lag1, strd):
    """NIST StRD, univariate: fifteen digits are certified; half a unit of the fifteenth is allowed."""
    check_strd(case_of_mean_sd_lag1, strd, Fraction(5, 10**15))


def test_further_certified_values_of_nist_are_met(univariate, strd):
    check_strd(univariate, strd, Fraction(5, 10**15))


def test_without_readings_there_is_no_summary_and_one_reading_has_no_spread():
    assert summarize([]) is None
    summary = summarize(["0.041"])
    assert (summary.n, summary.mean, summary.sd, summary.variance, summary.lag1) == (
        1,
        Fraction(41, 1000),
        None,
        None,
        None,
    )
    assert summarize(["1", "1"]).lag1 is None


@given(READINGS)
def test_it_agrees_with_numpy(readings):
    summary = summarize(readings)
    values = np.array([float(reading) for reading in readings])
    assert np.isclose(float(summary.mean), values.mean(), atol=1e-9)
    assert np.isclose(float(summary.sd), values.std(ddof=1), atol=1e-9)
    assert np.isclose(float(summary.median), np.median(values), atol=1e-12)


@given(READINGS, st.decimals(min_value=-(10**6), max_value=10**6, places=3))
def test_a_shift_moves_the_mean_exactly_and_leaves_the_spread_alone(readings, shift):
    moved = summarize([reading + shift for reading in readings])
    still = summarize(readings)
    assert moved.mean == still.mean + Fraction(shift)
    assert (moved.sd, moved.lag1) == (still.sd, still.lag1)


@given(READINGS)
def test_it_lies_between_the_extremes(readings):
    summary = summarize(readings)
    assert summary.smallest <= summary.mean <= summary.largest
    assert summary.smallest <= summary.median <= summary.largest


def test_json_has_sixteen_digits_of_the_standard_deviation():
    assert summarize(["1", "2"]).as_dict()["sd"] == "0.7071067811865475"
    assert Decimal(summarize(["1", "2"]).sd).as_tuple().exponent == -34
