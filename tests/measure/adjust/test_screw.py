"""Turns as a person says and writes them."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.adjust.screw import (
    PAIRS,
    directions_in,
    opposite,
    parse_adjustment,
    rounded_turns,
    spoken_turns,
)
from traveler.measure.number import Unreadable

SPOKEN = {
    "1/4": "¼",
    "7/8": "⅞",
    "1": "1 full turn",
    "2": "2 full turns",
    "11/8": "1⅜",
    "1/36": "10°",
    "37/36": "1 full turn and 10°",
    "-1/2": "½",
    "0": "0",
    "1/3600": "0.1°",
}


@pytest.mark.parametrize("turns", SPOKEN)
def test_turns_are_said_in_eighths_where_they_are_eighths_and_in_degrees_elsewhere(turns: str) -> None:
    assert spoken_turns(Fraction(turns)) == SPOKEN[turns]


WRITTEN = {
    "turn ¼ clockwise": "1/4",
    "1/4 turn clockwise": "1/4",
    "1¼ turns clockwise": "5/4",
    "turn it 1 1/4 turns ccw": "-5/4",
    "half a turn left": "-1/2",
    "90° left": "-1/4",
    "counter-clockwise 45 deg": "-1/8",
    "turn 2 full turns anticlockwise": "-2",
    "0.5": "1/2",
    "-0.5": "-1/2",
    "turn 1 full turn en sentido antihorario": "-1",
    "⅜ a la derecha": "3/8",
    "turn ¼ counter-clockwise seen from above": "-1/4",
}


@pytest.mark.parametrize("text", WRITTEN)
def test_a_noted_adjustment_is_read_in_turns_with_its_direction_as_sign(text: str) -> None:
    assert parse_adjustment(text) == Fraction(WRITTEN[text])


def test_an_adjustment_in_another_unit_is_read_in_that_unit() -> None:
    assert parse_adjustment("0.1 mm in", "mm") == Fraction("0.1")
    assert parse_adjustment("remove 100 µm", "mm") == Fraction("-0.1")
    assert parse_adjustment("0.2", "mm") == Fraction("0.2")


@pytest.mark.parametrize("text", ["a bit", "turn it", "-1/4 clockwise", "3 mm", "", "¼ clockwise left"])
def test_an_adjustment_that_says_no_amount_is_refused(text: str) -> None:
    with pytest.raises(Unreadable, match="ADJ006"):
        parse_adjustment(text)


def test_the_words_of_direction_that_were_noted_are_found() -> None:
    assert directions_in("1/4 left") == ("right", "left")
    assert directions_in("0.1 mm") is None


@pytest.mark.parametrize("pair", PAIRS)
def test_each_direction_has_its_opposite(pair: tuple[str, str]) -> None:
    assert opposite(pair[1]) == pair[0]
    assert opposite(opposite(pair[0])) == pair[0]


def test_from_where_a_direction_is_seen_stays_with_it() -> None:
    assert opposite("Clockwise seen from above") == "counter-clockwise seen from above"
    assert opposite("left, looking at the drive") == "right, looking at the drive"


def test_a_direction_that_is_not_known_still_has_an_other_way() -> None:
    assert opposite("toward the wall") == "the other way than toward the wall"


@given(
    st.integers(1, 40),
    st.sampled_from([8, 360]),
    st.sampled_from([("clockwise", 1), ("counter-clockwise", -1)]),
)
def test_what_is_said_is_read_back_as_the_same_turns(number: int, parts: int, way: tuple[str, int]) -> None:
    turns = Fraction(number, parts)
    text = spoken_turns(turns)
    if " and " not in text:
        assert parse_adjustment(f"turn {text} {way[0]}") == way[1] * turns


def test_turns_are_rounded_no_finer_than_needed() -> None:
    third = Fraction(1, 3)
    assert rounded_turns(third, lambda some: abs(some - third) < Fraction(1, 16)) == Fraction(3, 8)
    assert rounded_turns(third, lambda some: abs(some - third) < Fraction(1, 100)) == third
    assert rounded_turns(Fraction(123_456, 10**6), lambda _: False) == Fraction(444, 3600)
