from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.stats.control_chart import individuals_chart
from traveler.trace.stats.numbers import exact, exact_all

READINGS = st.lists(st.decimals(min_value=0, max_value=9, places=2), min_size=2, max_size=30)
ROUNDING = Fraction(15, 10000)
"""Printed examples use d2 = 1.128 and D4 = 3.267; ours are not rounded first (relative difference)."""


def test_limits_agree_with_worked_examples(case_of_individuals_chart):
    """NIST/SEMATECH e-Handbook 6.3.2 (flow rate), and one worked out from the definitions."""
    chart = individuals_chart(case_of_individuals_chart["input"]["x"])
    expect = {name: exact(value) for name, value in case_of_individuals_chart["expect"].items()}
    tolerance = exact(case_of_individuals_chart["tol"])
    reach = 3 * chart.limits.sigma * ROUNDING
    assert abs(chart.limits.centre - expect["center"]) <= tolerance
    assert abs(chart.range_limits.centre - expect["mr_bar"]) <= tolerance
    assert abs(chart.limits.upper - expect["ucl"]) <= tolerance + reach
    assert abs(chart.limits.lower - expect["lcl"]) <= tolerance + reach
    assert abs(chart.range_limits.upper - expect["mr_ucl"]) <= tolerance + chart.range_limits.upper * ROUNDING


def test_the_moisture_example_gives_its_printed_limits():
    """Individuals example of ISO 7870-2 (from memory): 2.44, 3.45, 4.46; ranges 0.38, 1.24."""
    chart = individuals_chart(["2.9", "3.2", "3.6", "4.3", "3.8", "3.5", "3.0", "3.1", "3.6", "3.5"])
    found = (chart.limits.lower, chart.limits.centre, chart.limits.upper)
    for item, printed in zip(found, ("2.44", "3.45", "4.46"), strict=True):
        assert abs(item - exact(printed)) <= Fraction(1, 100)
    assert abs(chart.range_limits.centre - exact("0.38")) <= Fraction(1, 100)
    assert abs(chart.range_limits.upper - exact("1.24")) <= Fraction(1, 100)


def test_a_reading_beyond_the_limit_is_a_signal_and_so_is_its_jump():
    quiet = ["10.0", "10.1", "9.9", "10.0", "10.1", "10.0", "9.9", "10.1", "10.0", "9.9"] * 2
    chart = individuals_chart([*quiet, "12.0"], baseline=20)
    assert chart.stable is False
    assert [signal.last for signal in chart.signals if signal.rule == 1] == [20]
    assert [signal.last for signal in chart.range_signals] == [19]
    assert chart.sentence == (
        "Point 21: above the upper control limit; moving range, point 20: above the upper control limit."
    )


def test_limits_of_a_baseline_do_not_move_with_what_comes_after():
    first = ["1.0", "1.2", "1.1", "0.9", "1.0", "1.1"]
    assert individuals_chart([*first, "5", "6"], baseline=6).limits == individuals_chart(first).limits


@pytest.mark.parametrize(
    ("readings", "sentence"),
    [
        ([], "0 readings: limits need at least two."),
        (["1"], "1 reading: limits need at least two."),
        (["1"] * 30, "All readings are equal: no limits; the gauge is too coarse or the values are copied."),
    ],
)
def test_it_says_why_there_are_no_limits(readings, sentence):
    chart = individuals_chart(readings)
    assert (chart.limits, chart.range_limits, chart.stable, chart.signals) == (None, None, None, ())
    assert chart.sentence == sentence


def test_few_readings_give_limits_that_are_called_provisional():
    assert individuals_chart(["1", "2", "1"]).note == "limits from 3 readings are provisional"
    assert "provisional" in individuals_chart(["1", "2", "1"]).sentence


def test_a_chart_with_very_many_signals_tells_the_first_and_counts_the_rest():
    steps = [str(number) for number in [0, 1] * 10 + [9, 0, -9, 0] * 5]
    assert individuals_chart(steps, baseline=20).sentence.count(";") == 4
    assert "more signals" in individuals_chart(steps, baseline=20).sentence


@given(READINGS)
def test_limits_lie_evenly_about_the_mean_and_reflect_in_the_readings(readings):
    chart = individuals_chart(readings)
    if chart.limits is None:
        assert len(set(readings)) == 1
        return
    assert chart.limits.upper - chart.limits.centre == chart.limits.centre - chart.limits.lower
    mirrored = individuals_chart([-reading for reading in readings])
    assert mirrored.limits.upper == -chart.limits.lower
    assert mirrored.moving_ranges == chart.moving_ranges


@given(READINGS)
def test_moving_ranges_are_those_of_neighbours(readings):
    values = exact_all(readings)
    assert list(individuals_chart(readings).moving_ranges) == [
        abs(values[at] - values[at - 1]) for at in range(1, len(values))
    ]
