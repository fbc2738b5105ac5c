import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.trace.stats.numbers import exact, exact_all
from traveler.trace.stats.trend import mann_kendall, theil_sen, trend, widening


def drawn(seed, n, slope=0.0, rho=0.0, places=3):
    """Readings about 10, scatter 0.1, with a slope per unit; neighbors resemble each other by rho."""
    chance = np.random.default_rng(seed)
    noise = chance.normal(0, 0.1, n)
    for at in range(1, n):
        noise[at] = rho * noise[at - 1] + np.sqrt(1 - rho**2) * noise[at]
    return [f"{10 + slope * at + value:.{places}f}" for at, value in enumerate(noise)]


@pytest.mark.parametrize(("n", "places"), [(12, 3), (40, 3), (40, 1), (150, 2)])
def test_slope_and_interval_agree_with_scipy(n, places):
    from scipy import stats

    readings = drawn(1, n, slope=0.002, places=places)
    found = stats.theilslopes([float(reading) for reading in readings], alpha=0.95)
    line = theil_sen(exact_all(readings), 0.95)
    assert np.isclose(line.slope, found.slope, atol=1e-12)
    assert np.isclose(line.low, found.low_slope, atol=1e-9)
    assert np.isclose(line.high, found.high_slope, atol=1e-9)


@pytest.mark.parametrize(("n", "places"), [(10, 3), (40, 1), (150, 2)])
def test_the_uncorrected_test_agrees_with_kendalls_tau(n, places):
    """S and its variance with ties are those behind scipy's asymptotic tau (which has no continuity)."""
    from scipy import stats

    y = np.array([float(value) for value in drawn(2, n, slope=0.003, places=places)])
    found = mann_kendall(y, y - y.mean())
    tau = stats.kendalltau(np.arange(n), y, method="asymptotic")
    z = stats.norm.isf(tau.pvalue / 2)
    mine = stats.norm.isf(found.p_plain / 2)
    assert np.isclose(mine * abs(found.s) / (abs(found.s) - 1), z, rtol=1e-6)


def test_readings_that_resemble_their_neighbours_widen_the_variance():
    alike = np.array([float(value) for value in drawn(3, 200, rho=0.7)])
    apart = np.array([float(value) for value in drawn(3, 200)])
    by_turns = np.tile([1.0, -1.0], 100)
    assert widening(alike) > 2 > widening(apart) >= 1
    assert widening(by_turns) == widening(np.zeros(20)) == 1


@pytest.mark.parametrize(("rho", "plain", "corrected"), [(0.0, 0.08, 0.08), (0.5, 1.0, 0.09)])
def test_false_alarms_stay_rare_even_where_neighbours_resemble_each_other(rho, plain, corrected):
    """300 drawn series of 80 without a drift, judged at 5 %, with and without the correction."""
    found = [trend(drawn(seed, 80, rho=rho)) for seed in range(300)]
    without = sum(float(trend.p_plain) < 0.05 for trend in found) / 300
    with_it = sum(trend.drifting for trend in found) / 300
    assert with_it <= corrected
    assert without <= plain
    if rho:
        assert with_it < without / 2


def test_a_drift_toward_a_limit_is_projected():
    found = trend(drawn(4, 100, slope=0.01), lower="9.5", upper="12")
    assert found.drifting
    ahead = found.projection
    assert ahead.limit == 12
    assert 80 <= ahead.centre <= 120
    assert ahead.readings < ahead.centre
    assert ahead.soonest <= ahead.centre <= ahead.latest
    assert found.sentence.startswith("Drifts upward by 1 per 100 units (p < 0.001); at this rate single")


@pytest.mark.parametrize(
    ("slope", "limits", "words"),
    [
        (0.01, {"upper": "10.5"}, "the middle is already beyond the limit 10.5"),
        (0.01, {"upper": "11.1"}, "single units already fail"),
        (-0.01, {"lower": "8"}, "Drifts downward by"),
        (0.01, {"lower": "8"}, "per 100 units (p < 0.001)."),
        (0.01, {"upper": "5000"}, "more than 100000 units away"),
    ],
)
def test_what_lies_ahead_is_told(slope, limits, words):
    assert words in trend(drawn(4, 100, slope=slope), **limits).sentence


def test_wild_readings_do_not_bend_the_line():
    readings = drawn(5, 60)
    for at in (3, 50, 55):
        readings[at] = "99"
    assert not trend(readings).drifting
    assert abs(trend(readings).slope) < exact("0.002")


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        ([], "0 readings: too few to judge a drift; at least 10 are needed."),
        (["1"] * 9, "9 readings: too few"),
        (["1"] * 10, "All 10 readings are equal: no drift."),
        (drawn(6, 40), "No significant drift (p ="),
    ],
)
def test_it_says_why_there_is_no_drift(readings, words):
    found = trend(readings, upper="20")
    assert found.sentence.startswith(words)
    assert (found.drifting, found.projection) == (False, None)


def test_chance_and_resemblance_are_told_apart():
    said = [trend(drawn(seed, 80, rho=0.6)).sentence for seed in range(60)]
    assert any("neighbors that resemble each other" in value for value in said)


def test_very_many_readings_are_thinned_and_still_judged():
    found = trend(drawn(7, 4000, slope=0.0001), upper="11")
    assert found.n == 4000
    assert abs(float(found.slope) - 0.0001) < 0.00002
    assert 5000 <= found.projection.centre <= 7000


@settings(max_examples=40)
@given(st.lists(st.integers(0, 50), min_size=10, max_size=40))
def test_reversed_in_time_it_drifts_as_fast_the_other_way(readings):
    forward, backward = trend(readings), trend(readings[::-1])
    if forward.p is None:
        assert backward.p is None
        return
    assert forward.slope == -backward.slope
    assert forward.p_plain == backward.p_plain
