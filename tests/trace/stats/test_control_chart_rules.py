from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.stats.control_chart import (
    ISO_7870_2,
    Pattern,
    RuleShape,
    flagged,
    signals,
)
from traveler.trace.stats.numbers import exact_all

SCORES = st.lists(st.integers(-40, 40).map(lambda tenths: Fraction(tenths, 10)), max_size=40)
ZONE_RULES = (
    Pattern(1, RuleShape.BEYOND, 1, 1, 3),
    Pattern(2, RuleShape.ZONE, 2, 3, 2),
    Pattern(3, RuleShape.ZONE, 4, 5, 1),
    Pattern(4, RuleShape.ONE_SIDE, 8, 8),
)
"""The four zone rules of 1956, of which check values are published."""
SETS = pytest.mark.parametrize("patterns", [ISO_7870_2, ZONE_RULES], ids=["iso", "zones"])


def pairs(scores, patterns):
    return sorted([pattern.number, at] for pattern in patterns for at, _ in flagged(scores, pattern))


def expected(case):
    return [[int(rule), int(at)] for rule, at in case["expect"]["signals"]]


def test_the_four_zone_rules_flag_the_points_they_should(case_of_western_electric_rules):
    """Western Electric 1956."""
    assert pairs(exact_all(case_of_western_electric_rules["input"]["z"]), ZONE_RULES) == expected(
        case_of_western_electric_rules
    )


@pytest.mark.parametrize(
    ("scores", "words"),
    [
        (["0", "3.01"], "point 2: above the upper control limit"),
        (["0", "-3.01", "0.2"], "point 2: below the lower control limit"),
        (["0.1"] * 7, "points 1 to 7: 7 in a row above the centre line"),
        (["0.5", *["-0.1"] * 9], "points 2 to 10: 9 in a row below the centre line"),
        (["-1.5", "-1", "-0.5", "-0.1", "0.4", "0.8", "1.2"],
         "points 1 to 7: 7 in a row, each higher than the one before"),
        (["0", "2.1", "-0.3", "2.5"], "points 2 to 4: 2 of 3 more than 2 sigma above the centre line"),
    ],
)  # fmt: skip
def test_iso_7870_2_patterns_are_told_in_plain_words(scores, words):
    assert [signal.words for signal in signals(exact_all(scores))] == [words]


@pytest.mark.parametrize(
    "scores",
    [
        ["3", "-3", "0.5", "0.2", "-3", "3"],
        ["0.1"] * 6,
        ["0.1", "0.1", "0.1", "0", "0.1", "0.1", "0.1"],
        ["-1.5", "-1", "-0.5", "-0.5", "0.1", "0.4", "0.8", "1.2"],
        ["2.5", "-2.5"],
        ["2", "2", "2", "-1"],
    ],
    ids=["on the limit", "six", "centre line ends a run", "equal ends a trend", "two sides", "on two sigma"],
)
def test_iso_7870_2_patterns_stay_silent_short_of_them(scores):
    assert signals(exact_all(scores)) == ()


def test_a_long_run_is_one_signal_that_names_all_of_it():
    (run,) = signals([Fraction(1, 10)] * 20)
    assert (run.rule, run.first, run.last, run.flagged, run.side) == (2, 0, 19, tuple(range(6, 20)), 1)


@SETS
@given(scores=SCORES)
def test_a_chart_turned_upside_down_gives_the_same_signals_on_the_other_side(patterns, scores):
    up = [(signal.rule, signal.flagged, signal.side) for signal in signals(scores, patterns)]
    down = [
        (signal.rule, signal.flagged, -signal.side)
        for signal in signals([-score for score in scores], patterns)
    ]
    assert up == down


@SETS
@given(scores=SCORES, more=SCORES)
def test_what_comes_later_never_takes_a_flag_back(patterns, scores, more):
    before, after = pairs(scores, patterns), pairs(scores + more, patterns)
    assert [item for item in after if item[1] < len(scores)] == before


@SETS
@given(scores=SCORES)
def test_flags_and_signals_tell_of_the_same_points(patterns, scores):
    told = signals(scores, patterns)
    from_signals = sorted([signal.rule, at] for signal in told for at in signal.flagged)
    assert from_signals == pairs(scores, patterns)
    assert all(0 <= signal.first <= signal.flagged[0] <= signal.last < len(scores) for signal in told)


def test_each_shape_has_words():
    assert all("{" not in Pattern(1, shape, 4, 5, 2).words for shape in RuleShape)
