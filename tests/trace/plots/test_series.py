from fractions import Fraction
from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.plots.series import bin_counts, bin_edges
from traveler.trace.stats.numbers import exact_all

READINGS = st.lists(
    st.integers(-300, 300).map(lambda number: Fraction(number, 1000)), min_size=1, max_size=80
)


@given(READINGS)
def test_every_reading_falls_in_a_bin_and_none_on_an_edge(readings):
    edges = bin_edges(readings)
    assert sum(bin_counts(readings, edges)) == len(readings)
    assert not set(edges) & set(readings)
    assert edges[0] < min(readings)
    assert edges[-1] > max(readings)


@given(READINGS)
def test_bins_hold_equally_many_gauge_steps_and_are_not_too_many(readings):
    edges = bin_edges(readings)
    widths = {b - a for a, b in pairwise(edges)}
    assert len(widths) == 1
    assert len(edges) <= 62


def test_a_coarse_gauge_gives_no_comb():
    """Readings in steps of 0.01 that fill every step evenly give bars of equal height."""
    readings = exact_all([f"{1 + at / 100:.2f}" for at in range(40)] * 5)
    filled = bin_counts(readings, bin_edges(readings))
    assert len(set(filled[:-1])) == 1


def test_numbers_that_never_end_get_bins_too():
    readings = [Fraction(at, 3) for at in range(1, 30)]
    edges = bin_edges(readings)
    assert sum(bin_counts(readings, edges)) == 29
    assert bin_edges([]) == ()
    assert bin_counts([], ()) == ()


def test_bins_agree_with_numpys_counts():
    readings = exact_all([f"{value:.3f}" for value in np.random.default_rng(1).normal(0, 1, 200)])
    edges = bin_edges(readings)
    expected, _ = np.histogram([float(reading) for reading in readings], [float(edge) for edge in edges])
    assert list(bin_counts(readings, edges)) == expected.tolist()
