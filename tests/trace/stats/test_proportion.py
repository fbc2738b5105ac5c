from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.trace.stats.proportion import proportion

COUNTS = st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@settings(deadline=None)  # the first example loads the library
@given(COUNTS, st.sampled_from([Fraction(9, 10), Fraction(95, 100), Fraction(99, 100)]))
def test_both_intervals_agree_with_statsmodels(counts, confidence):
    from statsmodels.stats.proportion import proportion_confint

    found = proportion(*counts, confidence)
    for interval, method in ((found.wilson, "wilson"), (found.exact, "beta")):
        expected = proportion_confint(*counts, alpha=1 - float(confidence), method=method)
        for value, other in zip(interval, expected, strict=True):
            assert abs(float(value) - other) < 1e-9


@given(COUNTS)
def test_intervals_hold_the_share_and_stay_between_none_and_all(counts):
    found = proportion(*counts)
    for low, high in (found.wilson, found.exact):
        assert 0 <= low <= Fraction(*counts) <= high <= 1


def test_nothing_of_nothing_says_nothing():
    found = proportion(0, 0)
    assert (found.share, found.sentence) == (None, "none of none")
    assert found.wilson == found.exact == (0, 1)


@pytest.mark.parametrize("wrong", [(-1, 5), (6, 5), (1, 0)])
def test_more_hits_than_units_are_refused(wrong):
    with pytest.raises(ValueError, match="is not a share"):
        proportion(*wrong)


def test_the_sentence_carries_the_interval():
    """Wilson 1927 for 18 of 20: 69.9 % to 97.2 %."""
    assert proportion(18, 20).sentence == "18 of 20 = 90 % (95 % interval 69.9 % to 97.2 %)"
