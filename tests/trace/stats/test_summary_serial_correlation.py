from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.stats.summary import serial_correlation


def drawn(seed, n):
    return [f"{value:.4f}" for value in np.random.default_rng(seed).normal(0, 1, n)]


@pytest.mark.parametrize("n", [8, 15, 60])
def test_independent_readings_are_called_wandering_as_rarely_as_it_says(n):
    found = [serial_correlation(drawn(seed, n)) for seed in range(2000)]
    assert abs(sum(serial < Decimal("0.05") for serial in found) / 2000 - 0.05) < 0.02
    assert sum(serial < Decimal("0.01") for serial in found) / 2000 < 0.02


@pytest.mark.parametrize(
    "move",
    [lambda at: 0.04 * at, lambda at: 2.0 * (at > 30), lambda at: 1.5 * np.sin(at / 8)],
    ids=["drift", "jump", "swing"],
)
def test_a_level_that_moves_is_seen(move):
    readings = [f"{float(value) + move(at):.4f}" for at, value in enumerate(drawn(1, 60))]
    assert serial_correlation(readings) < Decimal("0.01")


@pytest.mark.parametrize("readings", [[], ["1"] * 7, ["1", "2"] * 3, ["1"] * 20])
def test_too_few_readings_or_equal_ones_give_no_verdict(readings):
    assert serial_correlation(readings) is None


@given(st.lists(st.integers(0, 99), min_size=8, max_size=40), st.integers(1, 9), st.integers(-50, 50))
def test_unit_zero_and_direction_of_time_do_not_matter(readings, factor, shift):
    moved = [reading * factor + shift for reading in reversed(readings)]
    assert serial_correlation(readings) == serial_correlation(moved)
