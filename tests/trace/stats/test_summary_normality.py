from itertools import pairwise

import numpy as np
import pytest

from traveler.trace.stats.summary import Normal, anderson_darling_probability, normality


def drawn(seed, n, how="normal", places=4):
    chance = np.random.default_rng(seed)
    values = {
        "normal": chance.normal(5, 0.1, n),
        "exponential": chance.exponential(0.1, n),
        "uniform": chance.uniform(0, 1, n),
    }[how]
    return [f"{value:.{places}f}" for value in values]


@pytest.mark.parametrize("how", ["normal", "exponential", "uniform"])
@pytest.mark.parametrize("n", [8, 30, 200])
def test_both_tests_agree_with_statsmodels_and_scipy(how, n):
    from scipy import stats
    from statsmodels.stats.diagnostic import normal_ad

    readings = drawn(1, n, how)
    values = np.array([float(reading) for reading in readings])
    found = normality(readings)
    a2, p = normal_ad(values)
    shapiro = stats.shapiro(values)
    assert np.isclose(float(found.anderson_darling), a2, rtol=1e-8)
    assert np.isclose(float(found.anderson_darling_p), p, rtol=1e-6, atol=1e-11)
    assert np.isclose(float(found.shapiro_wilk), shapiro.statistic, rtol=1e-6)
    assert np.isclose(float(found.shapiro_wilk_p), shapiro.pvalue, rtol=1e-4, atol=1e-11)


@pytest.mark.parametrize(
    ("readings", "judgement", "words"),
    [
        (["1"] * 3, Normal.UNKNOWN, "3 readings: too few to judge"),
        (["1"] * 30, Normal.UNKNOWN, "All 30 readings are equal"),
        (drawn(2, 60, places=1), Normal.UNKNOWN, "the gauge's resolution is coarse against the spread"),
        (drawn(2, 12), Normal.PLAUSIBLE, "12 readings reveal only large departures"),
        (drawn(2, 100), Normal.PLAUSIBLE, "No test contradicts a normal distribution (Anderson-Dar"),
        (drawn(2, 100, "exponential"), Normal.REFUTED, "Not normal (Anderson-Darling p < 0.001, Shap"),
        (drawn(2, 100, "exponential"), Normal.REFUTED, "the upper tail is long"),
        (drawn(2, 900, "uniform"), Normal.REFUTED, "with 900 readings even small departures show"),
    ],
)
def test_the_judgement_is_said_with_the_caution_its_sample_needs(readings, judgement, words):
    found = normality(readings)
    assert found.judgement is judgement
    assert words in found.sentence


def test_a_lower_tail_is_named_as_such():
    mirrored = [f"-{value}" for value in drawn(2, 100, "exponential")]
    assert "the lower tail is long" in normality(mirrored).sentence


def test_normal_readings_are_doubted_about_as_rarely_as_five_percent():
    found = [normality(drawn(seed, 40)).judgement for seed in range(400)]
    assert sum(serial is Normal.REFUTED for serial in found) / 400 < 0.06
    assert sum(serial is not Normal.PLAUSIBLE for serial in found) / 400 < 0.11


def test_more_than_five_thousand_readings_go_without_the_second_test():
    found = normality(drawn(4, 5001))
    assert (found.shapiro_wilk, found.shapiro_wilk_p) == (None, None)
    assert found.judgement is Normal.PLAUSIBLE


def test_the_probability_falls_as_the_departure_grows():
    steps = [anderson_darling_probability(at / 100, 50) for at in range(1, 1500)]
    assert all(a >= b - 2e-3 for a, b in pairwise(steps))
    assert steps[0] > 0.99
    assert steps[-1] == 0
