"""Learning what an adjustment does: the secant through recorded readings, kept from running wild.

Between two readings with the adjustment noted, the effect is (change of reading) / (adjustment): the secant.
Newer moves count more than older ones, moves whose change drowns in the last digit count less, and a weighted
median keeps one wrong note from turning the advice round. Source: secant method, safeguarded by its bracket
(R. P. Brent, Algorithms for Minimization without Derivatives, chapter 4, from memory); the weights are our
own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

FARTHEST = 4
"""A new move is at most so many times the largest one made yet: a small effect may be a badly read one."""

CLEAR = 5
"""A change of so many last digits or more counts fully."""

AGES = Fraction(3, 4)
"""What a move counts of the one after it: two clear moves outweigh a third that was noted wrongly."""


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
        digit: the last digit of the readings; a change of no more than it cannot be told from none.
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
