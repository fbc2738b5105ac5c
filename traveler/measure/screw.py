"""Advice for one screw or one bend whose effect is known."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from traveler.measure.advice import Advice, aim, comfortable, inside, said
from traveler.measure.bounds import Limits
from traveler.measure.quantity import Quantity
from traveler.measure.rule_values import decimals_of, effect_per, gain_in, how_far_off, value_of
from traveler.measure.turning import opposite, rounded_turns, spoken_turns


def screw_advice(values: Mapping[str, str], limits: Limits, reading: Quantity) -> Advice:
    """One screw: the way to the aim over the effect of a turn (``effect``, ``increases``)."""
    effect = effect_per(value_of(values, "effect", "screw"), limits.unit, "turn")
    increases = value_of(values, "increases", "screw")
    exact = (aim(limits) - reading.value) / effect
    return turn_advice(limits, reading, exact, effect, (increases, opposite(increases)), values["effect"])


def turn_advice(
    limits: Limits, reading: Quantity, exact: Fraction, effect: Fraction, ways: tuple[str, str], why: str
) -> Advice:
    """Advice to turn a screw about so far, rounded to what a hand can do.

    ``ways`` are the directions of positive and negative turns.
    """
    turns = rounded_turns(exact, lambda some: comfortable(limits, reading.value + some * effect))
    after = reading.value + turns * effect
    direction = ways[0] if turns > 0 else ways[1]
    return Advice(
        f"turn {spoken_turns(turns)} {direction}",
        amount=abs(turns),
        unit="turn",
        direction=direction,
        expected=said(after, limits.unit, decimals_of(reading, limits)),
        reaches=inside(limits, after),
        reason=f"{how_far_off(limits, reading)}; {why}",
    )


def bend_advice(values: Mapping[str, str], limits: Limits, reading: Quantity) -> Advice:
    """A bend over or under its angle: correct by gain × deviation from the aim (``bend``: the gain)."""
    text = value_of(values, "bend", "bend")
    gain, unit = gain_in(text, limits.unit)
    change = gain * (aim(limits) - reading.value)
    decimals = decimals_of(reading, limits)
    amount = said(abs(change), unit, decimals if unit == limits.unit else decimals + 2)
    direction = "larger" if change > 0 else "smaller"
    return Advice(
        f"set the bend {amount.written} {direction}",
        amount=abs(change),
        unit=unit,
        direction=direction,
        expected=said(aim(limits), limits.unit, decimals),
        reason=f"{how_far_off(limits, reading)}; gain {text}",
    )
