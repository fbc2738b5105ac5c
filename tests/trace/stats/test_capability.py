from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.stats.capability import capability, indices
from traveler.trace.stats.numbers import exact
from traveler.trace.stats.summary import Normal

DRAWN = [f"{value:.4f}" for value in np.random.default_rng(11).normal(10, 0.02, 60)]


def test_indices_and_their_intervals_agree_with_worked_examples(case_of_capability):
    """NIST/SEMATECH e-Handbook 6.1.6; Montgomery's interval for Cp; the rest by definition."""
    given_, expect = case_of_capability["input"], case_of_capability["expect"]
    found = indices(
        given_["mean"], given_["sd"], lower=given_.get("lsl"), upper=given_.get("usl"),
        target=given_.get("target"), n=int(given_.get("n", "50")),
    )  # fmt: skip
    values = {
        "Cp": found.width and found.width.value, "Cpu": found.upper and found.upper.value,
        "Cpl": found.lower and found.lower.value, "Cpk": found.nearest.value, "Cpm": found.target,
        "Cp_lo95": found.width and found.width.low, "Cp_hi95": found.width and found.width.high,
        "Cpk_lo95": found.nearest.low, "Cpk_hi95": found.nearest.high,
    }  # fmt: skip
    for name, printed in expect.items():
        assert abs(exact(values[name]) - exact(printed)) <= exact(case_of_capability["tol"]), name


def test_the_width_interval_holds_the_true_index_as_often_as_it_says():
    """1,500 drawn samples of 15, true Pp 1; the interval from χ² is exact, so 95 % within three errors."""
    drawn = np.random.default_rng(2).normal(0, 1, (1500, 15))
    hits = 0
    for sd in drawn.std(axis=1, ddof=1):
        width = indices(0, Decimal(repr(float(sd))), lower=-3, upper=3, n=15).width
        hits += width.low <= 1 <= width.high
    assert abs(hits / 1500 - 0.95) < 0.017


def test_a_one_sided_limit_gives_one_index_and_no_width():
    found = capability(DRAWN, upper="10.08")
    assert found.overall.width is None
    assert found.overall.lower is None
    assert found.overall.nearest == found.overall.upper
    assert Decimal("1") < found.overall.nearest.value < Decimal("1.8")


def test_within_and_overall_differ_where_the_level_wanders():
    wandering = [f"{float(value) + 0.05 * (at // 30):.4f}" for at, value in enumerate(DRAWN)]
    found = capability(wandering, lower="9.9", upper="10.2")
    assert found.within.width.value > found.overall.width.value
    assert found.within.dof < found.overall.dof
    assert found.stable is False
    assert found.sentences[-1].startswith("The readings are not stable over time")


def test_expected_share_outside_is_the_normal_tail_beyond_both_limits():
    """Mean 0, s 1, limits ±3: 2 · (1 − Φ(3)) = 0.0026998."""
    symmetric = ["-1", "0", "1"]
    found = capability(symmetric, lower=-3, upper=3)
    assert abs(found.expected_outside - Decimal("0.0026997960633")) < Decimal("1e-12")


@pytest.mark.parametrize(
    ("readings", "first"),
    [
        ([], "No reading."),
        (["1"], "No capability index: one reading has no spread."),
        (["1"] * 9, "No capability index: all 9 readings are equal."),
        (["1", "2", "3"], "Ppk 0.667 from 3 readings; with 95 % confidence between"),
    ],
)
def test_too_few_readings_are_said_and_never_fail(readings, first):
    found = capability(readings, upper="4")
    assert found.sentences[0].startswith(first)
    assert (found.overall is None) == (len(set(readings)) < 2)
    assert found.as_dict()["n"] == len(readings)
    if len(readings) == 3:
        assert found.sentences[0].endswith("too few for more than a first estimate.")


def test_readings_that_are_not_normal_come_with_a_warning():
    skewed = [f"{item:.4f}" for item in np.random.default_rng(3).exponential(0.01, 120)]
    found = capability(skewed, upper="0.05")
    assert found.normal.judgement is Normal.REFUTED
    assert any("assume normal readings" in serial for serial in found.sentences)
    assert found.outside.hits == sum(float(text) > 0.05 for text in skewed)


@pytest.mark.parametrize("wrong", [{}, {"lower": None, "upper": None}])
def test_without_a_limit_there_is_no_capability(wrong):
    with pytest.raises(ValueError, match="limit"):
        capability(DRAWN, **wrong)
    with pytest.raises(ValueError, match="spread above zero"):
        indices(0, 0, upper=1, n=5)


@given(
    st.lists(st.decimals(min_value=0, max_value=1, places=3), min_size=3, max_size=25),
    st.decimals(min_value=1, max_value=5, places=1),
    st.decimals(min_value=-100, max_value=100, places=2),
)
def test_indices_do_not_change_with_unit_or_zero_of_the_scale(readings, factor, shift):
    def move(guess):
        return Fraction(guess) * Fraction(factor) + Fraction(shift)

    found = capability(readings, lower=0, upper=1)
    moved = capability([move(reading) for reading in readings], lower=move(0), upper=move(1))
    assert (found.overall is None) == (moved.overall is None)
    if found.overall is not None:
        gap = found.overall.nearest.value - moved.overall.nearest.value
        assert abs(gap) <= Decimal("1e-9") * (1 + abs(found.overall.nearest.value))
        assert found.overall.nearest.low <= found.overall.nearest.value <= found.overall.nearest.high
