"""Judging a reading against limits."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from traveler.measure.limits import Limits
from traveler.measure.quantity import Quantity

State = Literal["in", "out", "doubtful"]


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a reading is worth: its state, the reading in the unit of the limits, and the limits."""

    state: State
    reading: Quantity
    limits: Limits


def judge(limits: Limits, reading: Quantity) -> Judgement:
    """The judgement of one reading. Bounds are inclusive; numbers are compared exactly.

    Raises:
        Unreadable: UNT003, the reading is of another dimension.
    """
    value = reading.to(limits.unit)
    return Judgement("in" if inside(value.value, limits.lower, limits.upper) else "out", value, limits)


def inside(value: Fraction, lower: Fraction | None, upper: Fraction | None) -> bool:
    """Whether the value lies between the bounds or on one of them."""
    return (lower is None or value >= lower) and (upper is None or value <= upper)
