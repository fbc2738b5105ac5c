import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.trace.stats.contingency import odds, smallest_attainable, upper_probabilities

TABLES = st.integers(2, 60).flatmap(
    lambda units: st.tuples(st.integers(0, units), st.integers(0, units), st.just(units)).flatmap(
        lambda one: st.tuples(
            st.integers(max(0, one[0] + one[1] - one[2]), min(one[0], one[1])),
            *map(st.just, one),
        )
    )
)
"""(hits, carriers, complained, units), every table there can be."""


@settings(deadline=None)  # the first example loads the library
@given(TABLES)
def test_probabilities_agree_with_scipys_own_test(table):
    from scipy import stats

    hits, carriers, complained, units = table
    square = [[hits, carriers - hits], [complained - hits, units - carriers - complained + hits]]
    expected = stats.fisher_exact(square, alternative="greater").pvalue
    assert np.isclose(upper_probabilities([hits], [carriers], complained, units)[0], expected, atol=1e-12)


def test_the_lady_tasting_tea():
    """Fisher 1935: all four cups right has probability 1/70, three or more 17/70."""
    assert np.allclose(upper_probabilities([4, 3], [4, 4], 4, 8), [1 / 70, 17 / 70])


@given(TABLES)
def test_no_outcome_is_less_likely_than_the_smallest_attainable(table):
    hits, carriers, complained, units = table
    smallest = smallest_attainable([carriers], complained, units)[0]
    assert smallest <= upper_probabilities([hits], [carriers], complained, units)[0] + 1e-12


def test_no_factor_gives_no_probability():
    assert upper_probabilities([], [], 3, 10) == []


@pytest.mark.parametrize(
    "table", [(8, 150, 30, 5000), (2, 150, 30, 5000), (5, 6, 8, 12), (290, 2000, 300, 5000)]
)
def test_odds_agree_with_scipy(table):
    from scipy import stats

    hits, carriers, complained, units = table
    square = [[hits, carriers - hits], [complained - hits, units - carriers - complained + hits]]
    expected = stats.contingency.odds_ratio(square, kind="conditional")
    interval = expected.confidence_interval(0.95)
    found = odds(*table)
    assert np.allclose(
        [float(found.ratio), float(found.low), float(found.high)],
        [expected.statistic, interval.low, interval.high],
        rtol=1e-6,
    )


@given(TABLES)
def test_odds_lie_in_their_interval_and_are_open_at_the_ends(table):
    hits, carriers, complained, units = table
    found = odds(*table)
    top = hits == min(carriers, complained)
    assert (found.high is None) == top or carriers in (0, units) or complained in (0, units)
    if found.ratio is not None:
        assert found.low <= found.ratio
        assert found.high is None or found.ratio <= found.high
