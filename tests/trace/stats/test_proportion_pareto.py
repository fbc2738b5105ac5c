from collections import Counter
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.stats.proportion import pareto


def test_the_few_that_make_most_of_it_are_named():
    found = pareto(["run-out"] * 60 + ["torque"] * 25 + ["photo"] * 10 + ["mass"] * 5)
    assert [(bar.kind, bar.count, bar.vital) for bar in found.bars] == [
        ("run-out", 60, True), ("torque", 25, True), ("photo", 10, False), ("mass", 5, False),
    ]  # fmt: skip
    assert found.bars[1].cumulative == Fraction(85, 100)
    assert found.sentence == "run-out and torque: 85 % of 100, from 2 of 4 kinds."


def test_none_stands_out_and_nothing_to_count():
    assert pareto("abc").sentence == "3 in 3 kinds, spread evenly: none stands out."
    assert (pareto([]).total, pareto([]).sentence) == (0, "Nothing to count.")
    assert pareto(["b", "a"]).bars[0].kind == "a"


@given(st.lists(st.sampled_from("abcdefg"), min_size=1))
def test_bars_fall_and_add_up_to_all(kinds):
    bars = pareto(kinds).bars
    assert {bar.kind: bar.count for bar in bars} == Counter(kinds)
    assert [bar.count for bar in bars] == sorted((bar.count for bar in bars), reverse=True)
    assert bars[-1].cumulative == sum(bar.share.share for bar in bars) == 1
    assert sum(bar.count for bar in bars if bar.vital) >= 0.8 * len(kinds)
