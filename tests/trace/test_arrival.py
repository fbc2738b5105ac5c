"""The customer's value against ours: changed or not, inside or not."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.limits import parse_limits
from traveler.trace.arrival import ArrivalValue

F = Fraction
VALUE = ArrivalValue(
    slot="30-2/spindle=3,end=far", label="Run-out, spindle 3, end far", unit="mm", decimals=3,
    limits=parse_limits("max 0.05 mm"), shipped=F("0.047"), found=F("0.071"),
    ours=F("0.003"), theirs=F("0.004"),
)  # fmt: skip


def test_a_change_beyond_both_uncertainties_is_told_with_its_size():
    assert VALUE.changed is True
    assert VALUE.sentence == (
        "Run-out, spindle 3, end far: changed by +0.024 mm since shipping (0.047 → 0.071 mm), more than "
        "gauge uncertainty explains (± 0.005 mm); outside max 0.05 mm by 0.021 mm (over)."
    )


def test_a_change_of_exactly_the_uncertainty_cannot_be_told():
    assert replace(VALUE, found=F("0.052")).changed is False
    assert replace(VALUE, found=F("0.0521")).changed is True


def test_without_a_word_the_customers_gauge_counts_as_ours_and_this_is_said():
    said = replace(VALUE, theirs=None)
    assert said.squared == 2 * F("0.003") ** 2
    assert "assuming the customer's gauge is as good as ours" in said.sentence


def test_without_our_uncertainty_nothing_is_claimed():
    said = replace(VALUE, ours=None)
    assert said.changed is None
    assert "the uncertainty of the gauges is not known" in said.sentence


def test_the_same_value_is_told_as_it_left_and_inside():
    said = replace(VALUE, found=F("0.047"))
    assert said.sentence == "Run-out, spindle 3, end far: found 0.047 mm, as shipped; within max 0.05 mm."


def test_below_a_lower_limit_is_under():
    said = replace(VALUE, limits=parse_limits("42.00 ± 0.15 mm"), shipped=F(42), found=F("41.80"))
    assert "outside 42.00 ± 0.15 mm by 0.050 mm (under)" in said.sentence
    assert said.inside is False


def test_a_slot_with_nothing_recorded_says_so():
    said = replace(VALUE, shipped=None)
    assert said.change is None
    assert "the value at shipping is not recorded" in said.sentence


def test_json_holds_exact_numbers_as_text():
    told = VALUE.as_dict()
    assert (told["shipped"], told["found"], told["change"], told["inside"]) == (
        "0.047",
        "0.071",
        "0.024",
        False,
    )


NUMBERS = st.fractions(min_value=-10, max_value=10, max_denominator=1000)


@given(NUMBERS, NUMBERS, st.fractions(min_value=0, max_value=1, max_denominator=1000))
def test_changed_does_not_depend_on_the_direction(first, other, uncertainty):
    there = replace(VALUE, shipped=first, found=other, ours=uncertainty, theirs=uncertainty)
    back = replace(there, shipped=other, found=first)
    assert there.changed == back.changed
    assert there.change == -back.change
