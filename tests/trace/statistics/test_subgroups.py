from fractions import Fraction

import numpy as np
import pytest

from traveler.trace.stats.control_chart import chart_constants, subgroup_chart

DRAWN = [[f"{item:.3f}" for item in group] for group in np.random.default_rng(5).normal(10, 0.5, (200, 5))]


@pytest.mark.parametrize("spread", ["range", "sd"])
def test_limits_come_from_the_factors(spread):
    chart = subgroup_chart(DRAWN, spread=spread)
    known = chart_constants(5)
    mean = chart.spread_limits.centre
    reach, high = (known.a2, known.d4_upper) if spread == "range" else (known.a3, known.b4_upper)
    assert chart.limits.upper == chart.limits.centre + Fraction(reach) * mean
    assert chart.spread_limits.upper == Fraction(high) * mean
    assert chart.spread_limits.lower == 0
    assert abs(float(chart.sigma) - 0.5) < 0.03
    assert abs(float(chart.limits.centre) - 10) < 0.05


def test_a_shifted_subgroup_and_a_wild_one_are_found():
    shifted = [f"{float(value) + 2:.3f}" for value in DRAWN[0]]
    wild = ["8.0", "12.0", "10.0", "9.0", "11.9"]
    chart = subgroup_chart([*DRAWN[:40], shifted, wild])
    assert 40 in {at for signal in chart.signals if signal.rule == 1 for at in signal.flagged}
    assert [signal.last for signal in chart.spread_signals] == [41]


def test_a_spread_below_a_lower_limit_above_zero_is_found():
    drawn = [[f"{item:.3f}" for item in group] for group in np.random.default_rng(6).normal(0, 1, (40, 10))]
    chart = subgroup_chart([*drawn, ["0.1", "0.2"] * 5])
    assert chart.spread_limits.lower > 0
    assert [(signal.last, signal.side) for signal in chart.spread_signals] == [(40, -1)]


@pytest.mark.parametrize("groups", [[["1", "2"], ["1"]], [["1"]], [["1"] * 101]])
def test_uneven_single_and_huge_subgroups_are_refused(groups):
    with pytest.raises(ValueError, match="one size, 2 to 100"):
        subgroup_chart(groups)


@pytest.mark.parametrize(("groups", "note"), [([], "no subgroup"), ([["1", "1"]] * 3, "no subgroup varies")])
def test_it_says_why_there_are_no_limits(groups, note):
    chart = subgroup_chart(groups)
    assert (chart.limits, chart.sigma, chart.signals) == (None, None, ())
    assert chart.note.startswith(note)
