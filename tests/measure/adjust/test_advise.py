"""Advice on one screw, a bend, a learned effect, and everything that is refused."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from traveler.measure.adjust.advice import aim, comfortable
from traveler.measure.adjust.advise import (
    RULES,
    AdjustedReading,
    Advice,
    Move,
    advise,
    learned_effect,
    next_move,
)
from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import Unreadable
from traveler.measure.quantity import parse_quantity

SCREW = {"screw": "1.25 mm", "effect": "0.8 mm/turn", "increases": "clockwise"}


def after(rule: str, values: dict[str, str], limits: str, *history: str | tuple[str, str]) -> Advice:
    """Advice after readings; a pair is a reading and what was adjusted before it."""
    trials = [
        AdjustedReading(parse_quantity(item))
        if isinstance(item, str)
        else AdjustedReading(parse_quantity(item[0]), item[1])
        for item in history
    ]
    return advise(rule, values, parse_limits(limits), trials)


def test_a_screw_that_is_low_is_turned_a_quarter() -> None:
    advice = after("screw", SCREW, "12 ± 0.05 mm", "11.79 mm")
    assert advice.text == "turn ¼ clockwise"
    assert (advice.amount, advice.unit, advice.direction) == (Fraction(1, 4), "turn", "clockwise")
    assert advice.expected is not None
    assert advice.expected.written == "11.99 mm"
    assert advice.reason == "reads 11.79 mm, 0.16 mm under; 0.8 mm/turn"


def test_a_screw_that_is_high_is_turned_back() -> None:
    assert after("screw", SCREW, "12 ± 0.05 mm", "12.21 mm").text == "turn ¼ counter-clockwise"
    turned_back = after("screw", SCREW | {"increases": "left"}, "12 ± 0.05 mm", "12.21 mm")
    assert turned_back.text == "turn ¼ right"


def test_an_effect_that_lowers_the_reading_turns_the_direction_round() -> None:
    assert (
        after("screw", SCREW | {"effect": "-0.8 mm/turn"}, "12 ± 0.05 mm", "11.79 mm").direction
        == "counter-clockwise"
    )


def test_only_the_last_reading_counts_for_a_screw() -> None:
    assert (
        after("screw", SCREW, "12 ± 0.05 mm", "14 mm", ("11.79 mm", "2 turns ccw")).text == "turn ¼ clockwise"
    )


def test_reading_effect_and_limits_may_be_in_different_units() -> None:
    metric = after("screw", SCREW, "12 ± 0.05 mm", "11.79 mm")
    mixed = after("screw", SCREW | {"effect": "0.0022 mm/deg"}, "12 ± 0.05 mm", "11790 µm")
    assert mixed.text == metric.text
    inches = after("screw", SCREW | {"effect": "0.04 in/turn"}, "1 ± 0.002 in", "0.98 in")
    assert inches.text == "turn ½ clockwise"
    torque = after("screw", SCREW | {"effect": "4 N·m per turn"}, "24 N·m ± 1.5", "28 N·m")
    assert torque.text == "turn 1 full turn counter-clockwise"
    slope = after("screw", SCREW | {"effect": "2 mm/m/turn"}, "max 0.5 mm/m", "1.25 mm/m")
    assert slope.text == "turn ½ counter-clockwise"


def test_a_fine_tolerance_is_advised_in_degrees() -> None:
    assert after("screw", SCREW, "12 ± 0.005 mm", "11.79 mm").text == "turn 95° clockwise"


def test_a_screw_too_coarse_for_its_tolerance_says_so() -> None:
    advice = after("screw", SCREW | {"effect": "9000 mm/turn"}, "12 ± 0.0005 mm", "11.2 mm")
    assert not advice.reaches


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule != "level"])
def test_a_reading_that_is_in_needs_no_adjustment(rule: str) -> None:
    advice = after(rule, SCREW | {"bend": "0.9"}, "max 0.05 mm", "0.08 mm", ("0.050 mm", "1/8 left"))
    assert (advice.needed, advice.text) == (False, "leave it as it is")
    assert advice.reason == "0.050 mm is within max 0.05 mm"


def test_a_sentence_is_the_advice_when_the_rule_is_a_sentence() -> None:
    limits, trials = parse_limits("max 0.05 mm"), [AdjustedReading(parse_quantity("0.08 mm"))]
    advice = advise("text", {}, limits, trials, text="Turn the bush toward the high side.")
    assert (advice.text, advice.needed, advice.amount) == ("Turn the bush toward the high side.", True, None)


def test_a_bend_is_corrected_by_the_gain_times_what_is_wrong() -> None:
    over = after("bend", {"bend": "0.9"}, "90 ± 0.5 deg", "91.2 deg")
    assert (over.text, over.amount) == ("set the bend 1.1 deg smaller", Fraction("1.08"))
    assert after("bend", {"bend": "1.25"}, "90 ± 0.5 deg", "88 deg").text == "set the bend 2.5 deg larger"


def test_a_bend_can_be_corrected_in_another_unit_than_it_is_read_in() -> None:
    advice = after("bend", {"bend": "0.02 mm/deg"}, "90 ± 0.5 deg", "91.2 deg")
    assert (advice.text, advice.unit) == ("set the bend 0.024 mm smaller", "mm")


def test_without_a_noted_move_learning_begins_with_a_trial() -> None:
    advice = after("learn", {"learn": "true"}, "max 0.05 mm", "0.31 mm")
    assert advice.text == "turn ¼ clockwise as a trial, note it, and read again"
    assert after("learn", {}, "max 0.05 mm", "0.31 mm", "0.30 mm").text == advice.text
    shims = after("learn", {"by": "mm"}, "max 0.05 mm", "0.31 mm")
    assert shims.text == "adjust a little, note how far in mm, and read again"


def test_after_two_readings_the_secant_tells_how_far() -> None:
    advice = after("learn", {}, "0 ± 0.05 mm", "0.50 mm", ("0.30 mm", "¼ clockwise"))
    assert advice.text == "turn ⅜ clockwise"
    assert advice.reason == "reads 0.30 mm, 0.25 mm over; learned: 0.80 mm for 1 turn"
    wrong_way = after("learn", {}, "0 ± 0.05 mm", "0.30 mm", ("0.50 mm", "¼ right"))
    assert wrong_way.text == "turn ⅝ left"


def test_learning_in_another_unit_speaks_that_unit_and_the_words_that_were_noted() -> None:
    advice = after("learn", {"by": "mm"}, "0 ± 0.05 deg", "0.50 deg", ("0.30 deg", "add 0.1 mm"))
    assert advice.text == "add 0.15 mm"
    plain = after("learn", {"by": "mm"}, "0 ± 0.05 deg", "0.50 deg", ("0.30 deg", "0.1 mm"))
    assert plain.text == "adjust 0.15 mm more"


def test_a_note_without_an_amount_teaches_nothing() -> None:
    advice = after(
        "learn", {}, "0 ± 0.05 mm", "0.50 mm", ("0.30 mm", "¼ clockwise"), ("0.20 mm", "a bit more")
    )
    assert advice.text == "turn ¼ clockwise"
    assert after("learn", {}, "0 ± 0.05 mm", "0.50 mm", ("0.30 mm", "tension screw")).expected is None


def test_a_move_that_changed_nothing_is_doubled() -> None:
    advice = after("learn", {}, "0 ± 0.05 mm", "0.50 mm", ("0.50 mm", "¼ left"))
    assert advice.text == "turn ½ left as a trial, note it, and read again"
    assert "is it the right screw?" in advice.reason
    shim = after("learn", {"by": "mm"}, "0 ± 0.05 mm", "0.50 mm", ("0.50 mm", "0.1 mm"))
    assert shim.text == "adjust 0.2 mm more as a trial, note it, and read again"


def test_a_tiny_effect_does_not_send_the_screw_through_the_wall() -> None:
    advice = after("learn", {}, "0 ± 0.05 mm", "9.00 mm", ("8.98 mm", "¼ clockwise"))
    assert advice.amount == 1


def test_a_goal_that_was_passed_is_come_back_to_by_less_than_the_last_move() -> None:
    advice = after(
        "learn", {}, "0 ± 0.02 mm", "0.50 mm", ("0.40 mm", "¼ clockwise"), ("-0.35 mm", "½ clockwise")
    )
    assert advice.direction == "counter-clockwise"
    assert advice.amount is not None
    assert advice.amount < Fraction(1, 2)


def test_one_wrong_note_does_not_turn_the_advice_round() -> None:
    notes = [("0.60 mm", "¼ clockwise"), ("0.50 mm", "⅛ clockwise")]
    right = after("learn", {}, "0 ± 0.02 mm", "0.80 mm", *notes, ("0.40 mm", "⅛ clockwise"))
    wrong = after("learn", {}, "0 ± 0.02 mm", "0.80 mm", *notes, ("0.40 mm", "⅛ counter-clockwise"))
    assert right.text == wrong.text == "turn ½ clockwise"


def test_of_two_moves_that_contradict_each_other_the_later_one_counts() -> None:
    contradicting = [("0.60 mm", "¼ clockwise"), ("0.40 mm", "¼ left")]
    assert after("learn", {}, "0 ± 0.02 mm", "0.80 mm", *contradicting).text == "turn ½ left"


@given(st.fractions("1/10", 3), st.fractions(-5, 5), st.fractions("1/20", 1), st.booleans())
def test_the_secant_lands_on_the_goal_of_a_straight_effect(effect, start, move, falls) -> None:
    effect = -effect if falls else effect
    made = [Move(move, start, start + effect * move)]
    learned = learned_effect(made, Fraction(1, 10**9))
    assert learned == effect
    step = next_move(made, made[0].after, Fraction(0), learned)
    assume(abs(step) < 4 * move)
    assert made[0].after + effect * step == 0


limits_texts = st.sampled_from(
    ["12 ± 0.05 mm", "max 0.05 mm", "min 8 mm", "10 to 12 mm", "max -3 mm", "25 H7", "min -2 mm"]
)


@given(limits_texts, st.decimals(-30, 30, places=2), st.decimals("0.01", 2, places=3))
def test_advice_on_a_screw_that_is_followed_exactly_brings_the_reading_in(text, reading, effect) -> None:
    values = SCREW | {"effect": f"{effect} mm/turn"}
    limits = parse_limits(text)
    advice = advise("screw", values, limits, [AdjustedReading(parse_quantity(f"{reading} mm"))])
    if not advice.needed:
        assert limits.holds(Fraction(reading))
        return
    assert advice.reaches
    assert advice.amount is not None
    turned = advice.amount if advice.direction == "clockwise" else -advice.amount
    assert limits.holds(Fraction(reading) + Fraction(effect) * turned)


AIMS = {
    "12 ± 0.05 mm": "12",
    "24 +2/-1 N·m": "24.5",
    "max 0.05 mm": "0.025",
    "min 8 N": "8.8",
    "max -3 mm": "-3.3",
    "min -2 mm": "-1",
    "max 0 mm": "0",
}


@pytest.mark.parametrize("text", AIMS)
def test_the_aim_leaves_room_on_every_side(text: str) -> None:
    limits = parse_limits(text)
    assert aim(limits) == Fraction(AIMS[text])
    assert comfortable(limits, aim(limits))


def test_limits_without_a_bound_leave_nothing_to_aim_at() -> None:
    with pytest.raises(Unreadable, match="ADJ007"):
        aim(Limits("any", None, None, None, "mm", 0))


REFUSED = {
    "unknown rule": (("crank", SCREW, "max 1 mm", ("2 mm",)), "ADJ001 there is no adjust rule 'crank'"),
    "misspelt rule": (("scew", SCREW, "max 1 mm", ("2 mm",)), "ADJ001 .*did you mean 'screw'"),
    "no effect": (
        ("screw", {"increases": "left"}, "max 1 mm", ("2 mm",)),
        "ADJ002 the screw rule has no 'effect'",
    ),
    "no direction": (("screw", {"effect": "1 mm/turn"}, "max 1 mm", ("2 mm",)), "ADJ002 .*'increases'"),
    "no gain": (("bend", {}, "max 1 deg", ("2 deg",)), "ADJ002 the bend rule has no 'bend'"),
    "effect in another unit": (
        ("screw", SCREW | {"effect": "3 N/turn"}, "max 1 mm", ("2 mm",)),
        "ADJ003 effect '3 N/turn' is not in mm/turn",
    ),
    "effect for no turn": (
        ("screw", SCREW | {"effect": "3 mm"}, "max 1 mm", ("2 mm",)),
        "ADJ003 effect '3 mm'",
    ),
    "effect of nothing": (
        ("screw", SCREW | {"effect": "0 mm/turn"}, "max 1 mm", ("2 mm",)),
        "ADJ003 .* is 0",
    ),
    "gain in another unit": (("bend", {"bend": "2 mm/N"}, "max 1 deg", ("2 deg",)), "ADJ003 gain '2 mm/N'"),
    "gain in words": (("bend", {"bend": "some"}, "max 1 deg", ("2 deg",)), "ADJ003 gain 'some'"),
    "reading in another unit": (
        ("screw", SCREW, "max 1 mm", ("2 N",)),
        "ADJ003 reading 2 N: N cannot be compared",
    ),
    "no reading": (("screw", SCREW, "max 1 mm", ()), "ADJ004 there is no reading"),
    "note not understood": (
        ("learn", {}, "max 1 mm", ("3 mm", ("2 mm", "3 bits"))),
        "ADJ006 adjustment '3 bits' is not understood",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_advised_on_is_refused_with_a_reason(name: str) -> None:
    (rule, values, limits, history), message = REFUSED[name]
    with pytest.raises(Unreadable, match=message):
        after(rule, values, limits, *history)


def test_advice_goes_into_json_with_numbers_as_text() -> None:
    told = json.loads(json.dumps(after("screw", SCREW, "12 ± 0.05 mm", "11.79 mm").as_dict()))
    assert told["amount"] == "0.25"
    assert told["expected"] == {"value": "11.99", "unit": "mm", "shown": "11.99 mm"}
