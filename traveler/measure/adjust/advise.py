"""Advice on adjusting: what to turn, how far and which way, until a check is within its limits.

Rules as a definition writes them (``adjust``): a sentence, a screw with a known effect, an effect learned
from readings, leveling feet, a bend with a gain. A person decides whether to follow the advice, and the
record says so. All numbers are exact; turns are rounded to what a hand can do.

The effect of an adjustment is learned by the secant through the unit's own readings: (change of reading) /
(adjustment). Newer moves count more than older ones. Moves whose change is hardly larger than the last digit
count less. A weighted median keeps a single wrong note from reversing the advice. Source: secant method,
safeguarded by its bracket (R. P. Brent, Algorithms for Minimization without Derivatives, chapter 4, from
memory); the weights are our own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from traveler.measure.adjust.advice import (
    Advice,
    advice_to,
    aim,
    comfortable,
    decimals_of,
    how_far_off,
    reading_in,
)
from traveler.measure.adjust.level import level_advice
from traveler.measure.adjust.screw import (
    bend_advice,
    directions_in,
    has_amount,
    parse_adjustment,
    screw_advice,
    spoken_turns,
    turn_advice,
)
from traveler.measure.limits import Limits
from traveler.measure.number import Unreadable, display_number, to_decimals
from traveler.measure.quantity import Quantity, parse_unit
from traveler.text import did_you_mean

RULES = ("text", "screw", "level", "learn", "bend")

FARTHEST = 4
"""A new move is at most so many times the largest one made yet: a small effect may be a badly read one."""

CLEAR = 5
"""A change of so many last digits or more counts fully."""

AGES = Fraction(3, 4)
"""What a move counts of the one after it: two clear moves outweigh a third that was noted wrongly."""

FIRST = Fraction(1, 4)
"""The first turn of a screw whose effect is not known."""

MOST_DECIMALS = 6
VERBS = ("add", "remove", "tighten", "loosen")


@dataclass(frozen=True, slots=True)
class AdjustedReading:
    """A reading, and the adjustment made since the one before as it was noted (``1/4 turn clockwise``)."""

    reading: Quantity
    adjusted: str | None = None


def advise(
    rule: str,
    values: Mapping[str, str],
    limits: Limits,
    history: Sequence[AdjustedReading] = (),
    *,
    text: str = "",
    places: Mapping[str, tuple[str, str]] | None = None,
    feet: Mapping[str, Quantity] | None = None,
) -> Advice:
    """What to adjust so that the last reading comes within the limits.

    Args:
        rule: one of ``RULES``.
        values: the rule's numbers as written, each with its unit (``docs/geometry.md``).
        limits: what the reading must meet (the acceptance limits, where a guard band applies).
        history: the readings of this slot in order, with what was adjusted between them.
        text: the sentence of a ``text`` rule.
        places: for ``level``: the coordinates of the feet.
        feet: for ``level``: the last height read at each foot.

    Raises:
        Unreadable: ADJ001 unknown rule; ADJ002 a value is missing; ADJ003 a value or reading of a wrong
            dimension; ADJ004 no reading; ADJ005 feet that fix no plane; ADJ006 a noted adjustment that is not
            understood; ADJ007 limits without a bound; WRK006 a coordinate that is not a length.
    """
    if rule not in RULES:
        raise Unreadable("ADJ001", f"there is no adjust rule {rule!r}", did_you_mean(rule, RULES))
    if rule == "level":
        return level_advice(values, limits, places or {}, feet or {})
    if not history:
        raise Unreadable("ADJ004", "there is no reading to adjust from", "read the check first")
    reading = reading_in(history[-1].reading, limits.unit)
    if limits.holds(reading.value):
        why = f"{reading.written} is within {limits.describe()}"
        return Advice("leave it as it is", needed=False, expected=reading, reason=why)
    if rule == "text":
        return Advice(text)
    if rule == "screw":
        return screw_advice(values, limits, reading)
    if rule == "bend":
        return bend_advice(values, limits, reading)
    return _learn_advice(values, limits, history)


def _learn_advice(values: Mapping[str, str], limits: Limits, history: Sequence[AdjustedReading]) -> Advice:
    """The next adjustment, by what the noted ones did; without any, a trial. ``by``: its unit, else turns."""
    by = parse_unit(values.get("by") or "turn").symbol
    made = _noted_moves(history, limits.unit, by)
    reading = reading_in(history[-1].reading, limits.unit)
    effect = learned_effect(made, history[-1].reading.last_digit(limits.unit))
    ways = _ways(history, by)
    if effect is None:
        return _trial(made, ways, by, how_far_off(limits, reading))
    step = next_move(made, reading.value, aim(limits), effect)
    seen = f"learned: {display_number(abs(effect), decimals_of(reading, limits))} {limits.unit} for 1 {by}"
    if by == "turn":
        return turn_advice(limits, reading, step, effect, ways, seen)
    return _amount_advice(limits, reading, step, effect, (ways, by, seen))


def _noted_moves(history: Sequence[AdjustedReading], unit: str, by: str) -> list[Move]:
    """The moves noted with an amount, with the readings around them, in the order they were made.

    Raises:
        Unreadable: ADJ003 a reading of another dimension; ADJ006 a note that is not understood.
    """
    readings = [reading_in(trial.reading, unit).value for trial in history]
    made = []
    for before, after, trial in zip(readings, readings[1:], history[1:], strict=False):
        noted = trial.adjusted if trial.adjusted and has_amount(trial.adjusted) else None
        if noted and (amount := parse_adjustment(noted, by)):
            made.append(Move(amount, before, after))
    return made


def _ways(history: Sequence[AdjustedReading], by: str) -> tuple[str, str]:
    """The words for positive and negative adjustments: those last noted, else the usual ones."""
    for trial in reversed(history):
        noted = trial.adjusted or ""
        if has_amount(noted) and (pair := directions_in(noted)):
            return pair
    return ("clockwise", "counter-clockwise") if by in ("turn", "deg") else ("more", "less")


def _trial(made: Sequence[Move], ways: tuple[str, str], by: str, off: str) -> Advice:
    """A move to learn from: a quarter turn, or twice the last one that changed nothing."""
    if not made and by != "turn":
        text = f"adjust a little, note how far in {by}, and read again"
        return Advice(text, unit=by, reason=f"{off}; effect unknown")
    move = 2 * made[-1].amount if made else FIRST
    direction = ways[0] if move > 0 else ways[1]
    amount = spoken_turns(move) if by == "turn" else f"{display_number(abs(move))} {by}"
    why = "nothing moved yet: is it the right screw?" if made else "effect unknown"
    return Advice(
        f"{_move_text(amount, direction, by)} as a trial, note it, and read again",
        amount=abs(move),
        unit=by,
        direction=direction,
        reason=f"{off}; {why}",
    )


def _move_text(amount: str, direction: str, by: str) -> str:
    """``turn ¼ left``, ``adjust 0.1 mm in``, ``add 0.1 mm``."""
    if direction in VERBS:
        return f"{direction} {amount}"
    return f"{'turn' if by == 'turn' else 'adjust'} {amount} {direction}"


def _amount_advice(
    limits: Limits, reading: Quantity, step: Fraction, effect: Fraction, how: tuple[tuple[str, str], str, str]
) -> Advice:
    """Advice in a unit other than turns, with as few decimals as will do."""
    ways, by, seen = how
    for decimals in range(MOST_DECIMALS + 1):
        amount = to_decimals(step, decimals)
        after = reading.value + amount * effect
        if comfortable(limits, after):
            break
    direction = ways[0] if amount > 0 else ways[1]
    text = _move_text(f"{display_number(abs(amount))} {by}", direction, by)
    return advice_to(text, limits, reading, after, (amount, by, direction), seen)


@dataclass(frozen=True, slots=True)
class Move:
    """One adjustment (signed, not 0), and the readings before and after it."""

    amount: Fraction
    before: Fraction
    after: Fraction

    @property
    def change(self) -> Fraction:
        """How far the reading changed."""
        return self.after - self.before


def learned_effect(made: Sequence[Move], digit: Fraction) -> Fraction | None:
    """The change of the reading by one unit of adjustment; None while nothing has been seen to move.

    Args:
        made: the moves in the order they were made.
        digit: the last digit of the readings; a smaller change shows nothing.
    """
    weighted = [
        (move.change / move.amount, min(abs(move.change) / digit / CLEAR, Fraction(1)) * AGES**age)
        for age, move in enumerate(reversed(made))
        if abs(move.change) > digit
    ]
    return _weighted_median(weighted) if weighted else None


def _weighted_median(weighted: Sequence[tuple[Fraction, Fraction]]) -> Fraction:
    """The value with half of the weight on either side."""
    half = sum((weight for _, weight in weighted), Fraction(0)) / 2
    passed, middle = Fraction(0), Fraction(0)
    for value, weight in sorted(weighted):
        if passed < half:
            middle = value
        passed += weight
    return middle


def next_move(made: Sequence[Move], reading: Fraction, goal: Fraction, effect: Fraction) -> Fraction:
    """How far to adjust from here, signed: the secant step, kept within what the moves have shown.

    Never more than ``FARTHEST`` times the largest move. When the last move passed the goal, the way back is
    no longer than that move: the goal lies between the last two readings.
    """
    step = (goal - reading) / effect
    most = FARTHEST * max(abs(move.amount) for move in made)
    last = made[-1]
    if last.after == reading and (last.before - goal) * (reading - goal) < 0:
        most = abs(last.amount)
        step = -abs(step) if last.amount > 0 else abs(step)
    return max(-most, min(most, step))
