from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from traveler.trace.stats.comparisons import adjustment_effect


def drawn(seed, n, places=4):
    chance = np.random.default_rng(seed)
    return [
        (f"{found:.{places}f}", f"{left:.{places}f}")
        for found, left in zip(chance.normal(0.06, 0.02, n), chance.normal(0.03, 0.008, n), strict=True)
    ]


@pytest.mark.parametrize(("n", "places", "method"), [(20, 6, "exact"), (40, 2, "approx"), (80, 6, "approx")])
def test_the_shift_agrees_with_scipy(n, places, method):
    from scipy import stats

    pairs = drawn(1, n, places)
    steps = [float(left) - float(found) for found, left in pairs]
    expected = stats.wilcoxon(np.round(steps, places), method=method).pvalue
    assert np.isclose(float(adjustment_effect(pairs).p_shift), expected, rtol=1e-6)


def test_mended_and_spoilt_agree_with_mcnemar():
    from statsmodels.stats.contingency_tables import mcnemar

    pairs = [*drawn(2, 30), ("0.04", "0.06")]
    found = adjustment_effect(pairs, upper="0.05")
    was = np.array([float(item) <= 0.05 for item, _ in pairs])
    now = np.array([float(item) <= 0.05 for _, item in pairs])
    table = [[(was & now).sum(), (was & ~now).sum()], [(~was & now).sum(), (~was & ~now).sum()]]
    assert (found.mended, found.spoilt) == (table[1][0], table[0][1])
    assert np.isclose(float(found.p_mended), mcnemar(table, exact=True).pvalue)
    assert "1 reading adjusted out of the limits" in found.sentence


def test_the_spread_is_compared_by_the_correlation_of_sum_and_difference():
    """Pitman 1939, Morgan 1939."""
    from scipy import stats

    pairs = drawn(3, 25)
    before, after = (np.array([float(pair[at]) for pair in pairs]) for at in (0, 1))
    found = adjustment_effect(pairs)
    assert np.isclose(float(found.spread_ratio), after.std(ddof=1) / before.std(ddof=1))
    assert np.isclose(float(found.p_spread), stats.pearsonr(after + before, after - before).pvalue, rtol=1e-6)


def test_what_adjusting_did_is_told():
    found = adjustment_effect(drawn(4, 30), upper="0.05")
    assert found.shift < 0
    assert found.in_after.share > found.in_before.share
    assert found.sentence.startswith("30 pairs: the median moved by -0.0")
    assert "in the limits" in found.sentence


@pytest.mark.parametrize(
    ("pairs", "words"),
    [
        ([], "No reading before and after an adjustment."),
        ([("1", "2")], "1 pair: the median moved by 1, too few pairs to judge."),
        ([("1", "1")] * 9, "9 pairs: the median moved by 0, too few pairs to judge."),
    ],
)
def test_too_few_pairs_are_said(pairs, words):
    found = adjustment_effect(pairs)
    assert found.sentence == words
    assert (found.p_shift, found.mended) == (None, None)


def test_pairs_on_one_line_have_a_spread_that_surely_changed():
    found = adjustment_effect([(str(at), str(2 * at)) for at in range(10)])
    assert (found.p_spread, found.spread_ratio) == (Decimal(0), Decimal(2))
    assert found.before.mean == Fraction(9, 2)
