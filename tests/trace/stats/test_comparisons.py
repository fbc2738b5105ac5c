from decimal import Decimal

import numpy as np
import pytest

from traveler.trace.stats.comparisons import compare_groups


def drawn(seed, *shifts, n=25, spread=0.02):
    chance = np.random.default_rng(seed)
    return {
        f"IND-{at:02}": [f"{value:.3f}" for value in chance.normal(1 + shift, spread, n)]
        for at, shift in enumerate(shifts, start=1)
    }


def test_judgements_agree_with_scipy():
    from scipy import stats

    groups = drawn(1, 0, 0.01, 0.03)
    values = [[float(item) for item in group] for group in groups.values()]
    found = compare_groups(groups)
    assert np.isclose(float(found.p), stats.kruskal(*values).pvalue, rtol=1e-9)
    assert np.isclose(float(found.p_spread), stats.levene(*values, center="median").pvalue, rtol=1e-6)
    assert np.isclose(float(found.variance.p), stats.f_oneway(*values).pvalue, rtol=1e-6)


def test_the_gauge_that_reads_high_is_named_with_its_shift():
    found = compare_groups(drawn(2, 0, 0, 0, 0.03), what="gauge")
    different = [group for group in found.groups if group.differs]
    assert [group.name for group in different] == ["IND-04"]
    assert Decimal("0.02") < Decimal(float(different[0].shift)) < Decimal("0.04")
    assert found.sentence.startswith("Reads differently from the others (median): IND-04 by +0.0")


def test_gauges_that_read_alike_are_seldom_accused():
    """200 drawn sets of five gauges without a difference: at most one in twenty names any."""
    drawn_sets = (compare_groups(drawn(seed, *[0] * 5)) for seed in range(200))
    accused = sum(any(group.differs for group in found.groups) for found in drawn_sets)
    assert accused <= 14
    said = compare_groups(drawn(3, 0, 0), what="gauge").sentence
    assert said.startswith("No gauge reads differently from the others, more than chance explains (p =")


@pytest.mark.parametrize(
    ("groups", "words"),
    [
        ({}, "Only 0 persons with 3 readings or more: nothing to compare."),
        ({"a": ["1", "2", "3"], "b": ["1"]}, "Only 1 person with 3 readings or more: nothing to compare."),
        ({"a": ["1"] * 4, "b": ["1"] * 4}, "All readings are equal: nothing to compare."),
    ],
)
def test_it_says_why_nothing_is_compared(groups, words):
    found = compare_groups(groups, what="person")
    assert (found.sentence, found.p) == (words, None)
    assert not any(group.differs for group in found.groups)


def test_a_small_group_is_shown_and_not_judged():
    found = compare_groups({**drawn(4, 0, 0.05), "new": ["5"]})
    small = next(group for group in found.groups if group.name == "new")
    assert (small.p, small.shift, small.summary.n) == (None, None, 1)
    assert found.compared == 2


def test_a_difference_in_scatter_is_seen():
    groups = drawn(5, 0, 0)
    groups["IND-03"] = drawn(6, 0, spread=0.2)["IND-01"]
    assert compare_groups(groups).p_spread < Decimal("0.001")


def test_huge_numbers_with_small_differences_are_compared_by_their_differences():
    groups = {"a": ["1000000000000.1"] * 5 + ["1000000000000.2"] * 5, "b": ["1000000000000.3"] * 10}
    small = {"a": ["0.1"] * 5 + ["0.2"] * 5, "b": ["0.3"] * 10}
    assert compare_groups(groups).p == compare_groups(small).p
