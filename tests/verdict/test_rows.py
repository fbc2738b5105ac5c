"""What a written value is worth against limits, text in and state out."""

from __future__ import annotations

from fractions import Fraction

import pytest

from traveler.measure.limits import parse_limits
from traveler.verdict.rows import (
    DecisionRule,
    KnownUncertainty,
    Unfit,
    number_or,
    quantity_or_none,
    weigh_reading,
)
from traveler.verdict.rules.gauges import difference_in
from traveler.verdict.rules.readings import plausible_span
from traveler.verdict.state import SlotState

GUARDED = DecisionRule("guarded")


@pytest.mark.parametrize(
    ("value", "unit", "state", "text"),
    [
        ("0.05", "mm", SlotState.IN, "0.05"),
        ("0.050", "mm", SlotState.IN, "0.050"),
        ("0.0501", "mm", SlotState.OUT, "0.0501"),
        ("5e-2", "mm", SlotState.IN, "0.05"),
        ("0,05", "mm", SlotState.IN, "0.05"),
        ("0.002", "in", SlotState.OUT, "0.0508"),
        ("50", "µm", SlotState.IN, "0.05"),
    ],
)
def test_a_reading_against_a_maximum(value, unit, state, text):
    found = weigh_reading("max 0.05 mm", value, unit)
    assert (found.state, found.text) == (state, text)


def test_inches_in_fractions_stay_fractions():
    assert weigh_reading("1/4 ± 1/64 in", "15/64", "in").text == "15/64"
    assert weigh_reading("1/4 ± 1/64 in", "17/64", "in").state is SlotState.IN
    assert weigh_reading("1/4 ± 1/64 in", "35/128", "in").state is SlotState.OUT


def test_a_reading_without_limits_is_done():
    found = weigh_reading(None, "12.5", "mm")
    assert (found.state, found.text) == (SlotState.DONE, "12.5")
    assert weigh_reading(None, "1 1/2", "in").text == "1.5"


@pytest.mark.parametrize(
    ("value", "unit", "code"),
    [
        ("0.04", None, "REA003"),
        ("0.04", "", "REA003"),
        ("0.04", "kg", "REA004"),
        ("ok", "mm", "REA005"),
        ("0.04", "smoots", "REA005"),
    ],
)
def test_what_cannot_be_judged_says_why(value, unit, code):
    found = weigh_reading("max 0.05 mm", value, unit)
    assert isinstance(found, Unfit)
    assert found.code == code


@pytest.mark.parametrize(
    ("value", "known", "state", "problem"),
    [
        ("0.045", KnownUncertainty("0.003 mm"), SlotState.IN, None),
        ("0.047", KnownUncertainty("0.003 mm"), SlotState.IN, None),
        ("0.0471", KnownUncertainty("0.003 mm"), SlotState.DOUBTFUL, None),
        ("0.051", KnownUncertainty("0.003 mm"), SlotState.OUT, None),
        ("0.045", KnownUncertainty(None), SlotState.DOUBTFUL, "REA012"),
        ("0.051", KnownUncertainty(None), SlotState.OUT, "REA012"),
        ("0.045", KnownUncertainty("a little"), SlotState.DOUBTFUL, "REA012"),
        ("0.045", KnownUncertainty("0.003 kg"), SlotState.DOUBTFUL, "REA012"),
        ("0.045", KnownUncertainty("-0.003 mm"), SlotState.DOUBTFUL, "REA012"),
    ],
)
def test_the_guarded_rule(value, known, state, problem):
    found = weigh_reading("max 0.05 mm", value, "mm", GUARDED, known)
    assert found.state is state
    assert (found.problem[0] if found.problem else None) == problem


def test_a_guard_factor_of_nought_keeps_nothing_off_and_one_not_understood_counts_as_one():
    known = KnownUncertainty("0.003 mm")
    assert (
        weigh_reading("max 0.05 mm", "0.05", "mm", DecisionRule("guarded", factor="0"), known).state
        is SlotState.IN
    )
    half = DecisionRule("guarded", factor="0.5")
    assert weigh_reading("max 0.05 mm", "0.0485", "mm", half, known).state is SlotState.IN
    odd = weigh_reading("max 0.05 mm", "0.0485", "mm", DecisionRule("guarded", factor="much"), known)
    assert odd.acceptance == "max 0.047 mm"


def test_a_tolerance_that_the_guard_band_eats_leaves_nothing_to_accept():
    found = weigh_reading("10 ± 0.1 mm", "10", "mm", GUARDED, KnownUncertainty("0.2 mm"))
    assert found.state is SlotState.DOUBTFUL
    assert found.problem[0] == "REA011"
    assert found.acceptance is None


def test_numbers_of_a_register_that_cannot_be_read_count_as_not_given():
    assert quantity_or_none("a little") is None
    assert number_or("2.5", Fraction(2)) == Fraction(5, 2)
    assert number_or("two", Fraction(2)) == 2
    assert number_or("0", Fraction(2), above=Fraction(0)) == 2
    assert KnownUncertainty("0.1 mm", "two").factor == 2


@pytest.mark.parametrize(
    ("limits", "span", "scale"),
    [
        ("24 ± 1.5 N·m", "3", "3"),
        ("max 0.05 mm", "0.05", "0.05"),
        ("min 8 N", "8", "8"),
        ("max 72 dB", None, "72"),
        ("max 60 °C", None, "60"),
        ("20 ± 2 °C", "4", "4"),
        ("max 0 mm", None, "0"),
    ],
)
def test_how_wide_a_tolerance_is(limits, span, scale):
    found = parse_limits(limits)
    assert found.span == (None if span is None else Fraction(span))
    assert plausible_span(found) == Fraction(scale)


def test_how_far_outside_a_value_lies():
    limits = parse_limits("10 to 12 mm")
    assert [limits.excess(Fraction(value)) for value in (9, 10, 11, 12, 14)] == [-1, 0, 0, 0, 2]


def test_a_difference_of_another_dimension_is_none():
    step = quantity_or_none("1 kg")
    assert difference_in("g", step) == 1000
    assert difference_in("mm", step) is None
