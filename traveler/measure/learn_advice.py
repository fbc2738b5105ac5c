"""Advice for an adjustment whose effect is learned from the readings of this very unit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from traveler.measure.advice import Advice, aim, comfortable, inside, said
from traveler.measure.bounds import Limits
from traveler.measure.learning import Move, learned_effect, next_move
from traveler.measure.number import shown
from traveler.measure.quantity import Quantity
from traveler.measure.rule_values import decimals_of, how_far_off, in_unit, last_digit
from traveler.measure.screw import turn_advice
from traveler.measure.turning import directions_in, has_amount, parse_adjustment, spoken_turns
from traveler.measure.units import parse_unit

FIRST = Fraction(1, 4)
"""The first turn of a screw whose effect is not known."""

MOST_DECIMALS = 6
VERBS = ("add", "remove", "tighten", "loosen")


@dataclass(frozen=True, slots=True)
class Trial:
    """A reading, and the adjustment made since the one before as it was noted (``1/4 turn clockwise``)."""

    reading: Quantity
    adjusted: str | None = None


def learn_advice(values: Mapping[str, str], limits: Limits, history: Sequence[Trial]) -> Advice:
    """The next adjustment, by what the noted ones did; without any, a trial. ``by``: its unit, else turns."""
    by = parse_unit(values.get("by") or "turn").symbol
    made = noted_moves(history, limits.unit, by)
    reading = in_unit(history[-1].reading, limits.unit)
    effect = learned_effect(made, last_digit(history[-1].reading, limits.unit))
    ways = _ways(history, by)
    if effect is None:
        return _trial(made, ways, by, how_far_off(limits, reading))
    step = next_move(made, reading.value, aim(limits), effect)
    seen = f"learned: {shown(abs(effect), decimals_of(reading, limits))} {limits.unit} for 1 {by}"
    if by == "turn":
        return turn_advice(limits, reading, step, effect, ways, seen)
    return _amount_advice(limits, reading, step, effect, (ways, by, seen))


def noted_moves(history: Sequence[Trial], unit: str, by: str) -> list[Move]:
    """The moves noted with an amount, with the readings around them, in the order they were made.

    Raises:
        Unreadable: ADJ003 a reading of another dimension; ADJ006 a note that is not understood.
    """
    readings = [in_unit(trial.reading, unit).value for trial in history]
    made = []
    for before, after, trial in zip(readings, readings[1:], history[1:], strict=False):
        noted = trial.adjusted if trial.adjusted and has_amount(trial.adjusted) else None
        if noted and (amount := parse_adjustment(noted, by)):
            made.append(Move(amount, before, after))
    return made


def _ways(history: Sequence[Trial], by: str) -> tuple[str, str]:
    """The words for positive and negative adjustments: those last noted, else the usual ones."""
    for trial in reversed(history):
        noted = trial.adjusted or ""
        if has_amount(noted) and (pair := directions_in(noted)):
            return pair
    return ("clockwise", "counter-clockwise") if by in ("turn", "deg") else ("more", "less")


def _trial(made: Sequence[Move], ways: tuple[str, str], by: str, off: str) -> Advice:
    """A move to learn from: a quarter turn, or twice the last one that changed nothing."""
    if not made and by != "turn":
        return Advice(
            f"adjust a little, note how far in {by}, and read again", unit=by, reason=f"{off}; effect unknown"
        )
    move = 2 * made[-1].amount if made else FIRST
    direction = ways[0] if move > 0 else ways[1]
    amount = spoken_turns(move) if by == "turn" else f"{shown(abs(move))} {by}"
    why = "nothing moved yet: is it the right screw?" if made else "effect unknown"
    return Advice(
        f"{_told(amount, direction, by)} as a trial, note it, and read again",
        amount=abs(move),
        unit=by,
        direction=direction,
        reason=f"{off}; {why}",
    )


def _told(amount: str, direction: str, by: str) -> str:
    """``turn ¼ left``, ``adjust 0.1 mm in``, ``add 0.1 mm``."""
    if direction in VERBS:
        return f"{direction} {amount}"
    return f"{'turn' if by == 'turn' else 'adjust'} {amount} {direction}"


def _amount_advice(
    limits: Limits, reading: Quantity, step: Fraction, effect: Fraction, how: tuple[tuple[str, str], str, str]
) -> Advice:
    """Advice in a unit other than turns, with as few decimals as will do."""
    ways, by, seen = how
    amount = step
    for decimals in range(MOST_DECIMALS + 1):
        amount = Fraction(round(step * 10**decimals), 10**decimals)
        if comfortable(limits, reading.value + amount * effect):
            break
    after = reading.value + amount * effect
    direction = ways[0] if amount > 0 else ways[1]
    return Advice(
        _told(f"{shown(abs(amount))} {by}", direction, by),
        amount=abs(amount),
        unit=by,
        direction=direction,
        expected=said(after, limits.unit, decimals_of(reading, limits)),
        reaches=inside(limits, after),
        reason=f"{how_far_off(limits, reading)}; {seen}",
    )
