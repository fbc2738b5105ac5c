from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.ranking import Factor, factor_table

UNITS = {
    "A": {"lot": {"L1"}, "gauge": {"G1", "G2"}},
    "B": {"lot": {"L1"}, "gauge": {"G1"}, "supplier": {"S1"}},
    "C": {"lot": {"L2"}, "gauge": {"G2"}, "supplier": {"S2"}},
}
ANY = st.dictionaries(
    st.sampled_from("ABCDEFGH"),
    st.dictionaries(st.sampled_from(["lot", "gauge", "week"]), st.sets(st.sampled_from("123"), max_size=3)),
    min_size=1,
)


def test_factors_with_exactly_the_same_units_are_one_group():
    carriers = factor_table(UNITS)
    counted = zip(carriers.groups, carriers.carriers, strict=True)
    groups = {tuple(map(str, group)): count for group, count in counted}
    assert groups == {
        ("gauge G1", "lot L1"): 2,
        ("gauge G2",): 2,
        ("lot L2", "supplier S2"): 1,
        ("supplier S1",): 1,
    }


@given(ANY)
def test_counts_are_those_of_plain_sets(units):
    carriers = factor_table(units)
    some = sorted(units)[::2]
    among = carriers.among(carriers.chosen(some))
    for at, group in enumerate(carriers.groups):
        for factor in group:
            holders = {
                unit for unit, carried in units.items() if factor.value in carried.get(factor.attribute, ())
            }
            assert carriers.carriers[at] == len(holders)
            assert among[at] == len(holders & set(some))
            assert {carriers.units[item] for item in np.flatnonzero(carriers.carrying(at))} == holders


@given(ANY)
def test_no_factor_is_lost_or_doubled(units):
    listed = [factor for group in factor_table(units).groups for factor in group]
    every = {
        Factor(attribute, value)
        for carried in units.values()
        for attribute, values in carried.items()
        for value in values
    }
    assert sorted(listed) == sorted(every)


def test_factors_with_mostly_the_same_units_are_alike():
    units = {f"U{at}": {"lot": {f"L{1 + (at >= 50)}"}, "week": {f"W{1 + (at >= 45)}"}} for at in range(100)}
    carriers = factor_table(units)
    first = next(at for at, group in enumerate(carriers.groups) if Factor("lot", "L1") in group)
    assert carriers.overlapping(first, Fraction(9, 10)) == (Factor("week", "W1"),)
    assert carriers.overlapping(first, Fraction(91, 100)) == ()


def test_a_strange_unit_is_named():
    with pytest.raises(ValueError, match="not among the units: X, Y"):
        factor_table(UNITS).chosen(["A", "Y", "X"])
