from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.trace.stats.comparisons import variance_table

READING = st.integers(-5000, 5000).map(lambda hundredths: Decimal(hundredths) / 100)
GROUPS = st.lists(st.lists(READING, min_size=2, max_size=9), min_size=2, max_size=5)


def test_certified_values_of_nist_are_met_to_the_last_printed_digit(anova, strd):
    """NIST StRD, one-way analysis of variance, up to thirteen constant leading digits (SmLs07)."""
    groups: dict[str, list[str]] = {}
    for row in strd(anova["input"]["csv"]):
        groups.setdefault(row["group"], []).append(row["value"])
    table = variance_table(groups.values())
    expect = anova["expect"]
    assert (table.between_dof, table.within_dof) == (int(expect["between_dof"]), int(expect["within_dof"]))
    for found, name in (
        (table.between, "between"), (table.within, "within"), (table.f, "f"), (table.explained, "r_squared"),
    ):  # fmt: skip
        certified = Fraction(expect[name])
        assert abs(found - certified) <= certified * Fraction(5, 10**15), name


@settings(deadline=None)  # the first example loads the library
@given(GROUPS)
def test_it_agrees_with_scipy(groups):
    from scipy import stats

    table = variance_table(groups)
    if not table.within or not table.between:
        return
    found = stats.f_oneway(*([float(item) for item in group] for group in groups))
    assert np.isclose(float(table.f), found.statistic, rtol=1e-6)
    assert np.isclose(float(table.p), found.pvalue, rtol=1e-6, atol=1e-12)


@given(GROUPS)
def test_the_parts_make_up_the_whole(groups):
    table = variance_table(groups)
    flat = [Fraction(item) for group in groups for item in group]
    mean = sum(flat) / len(flat)
    assert table.between + table.within == sum((value - mean) ** 2 for value in flat)


@pytest.mark.parametrize("groups", [[], [["1", "2"]], [["1"], ["2"]], [["1", "2"], []]])
def test_without_two_groups_and_a_reading_to_spare_there_is_no_table(groups):
    assert variance_table(groups) is None


def test_groups_without_spread_have_no_f():
    table = variance_table([["1", "1"], ["2", "2"]])
    assert (table.f, table.p, table.explained) == (None, None, Fraction(1))
    assert variance_table([["1", "1"], ["1", "1"]]).explained is None
    assert variance_table([["1", "1"], ["1", "1.1"]]).p > Decimal("0.05")
