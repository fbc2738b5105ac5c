"""What an adjustment advises, and the reading it aims for."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from traveler.measure.bounds import Limits
from traveler.measure.number import exact_text, format_number
from traveler.measure.quantity import Quantity
from traveler.measure.unreadable import Unreadable


@dataclass(frozen=True, slots=True)
class Foot:
    """What to do at one levelling foot. ``turns`` is positive where the foot is raised."""

    place: str
    turns: Fraction
    direction: str
    text: str
    expected: Quantity


@dataclass(frozen=True, slots=True)
class Advice:
    """What to adjust, how far and which way, and why.

    ``amount`` is without sign, in ``unit`` (``turn`` for screws); None where the rule is a sentence or
    nothing can be said yet. ``expected`` is the reading that should follow; None where it cannot be told.
    ``needed`` is False when the readings are in already. ``reaches`` is False when even following it
    exactly leaves a reading outside the limits.
    """

    text: str
    needed: bool = True
    amount: Fraction | None = None
    unit: str = ""
    direction: str = ""
    feet: tuple[Foot, ...] = ()
    expected: Quantity | None = None
    reaches: bool = True
    reason: str = ""

    def as_dict(self) -> dict[str, object]:
        """For ``--json``: numbers as text, exact where decimals end, else as a fraction."""
        return {
            "text": self.text,
            "needed": self.needed,
            "amount": None if self.amount is None else exact_text(self.amount),
            "unit": self.unit,
            "direction": self.direction,
            "expected": None if self.expected is None else _as_text(self.expected),
            "reaches": self.reaches,
            "reason": self.reason,
            "feet": [
                {
                    "place": foot.place,
                    "turns": exact_text(foot.turns),
                    "direction": foot.direction,
                    "text": foot.text,
                    "expected": _as_text(foot.expected),
                }
                for foot in self.feet
            ],
        }


def _as_text(quantity: Quantity) -> dict[str, str]:
    return {
        "value": exact_text(quantity.value, quantity.decimals),
        "unit": quantity.unit,
        "shown": quantity.written,
    }


def said(value: Fraction, unit: str, decimals: int) -> Quantity:
    """An exact value with the digits it is shown in."""
    return Quantity(value, unit, f"{format_number(value, decimals)} {unit}", decimals)


def inside(limits: Limits, value: Fraction) -> bool:
    """Whether a value in the unit of the limits lies within them, bounds included."""
    above = limits.lower is None or value >= limits.lower
    return above and (limits.upper is None or value <= limits.upper)


def aim(limits: Limits) -> Fraction:
    """The value to adjust to, in the unit of the limits: what leaves most room.

    Two bounds: their middle (a nominal on a bound, as in ``25 H7``, would leave no room). One bound: half way
    from it to zero where zero is allowed, else a tenth of it beyond it. Common practice, no source.

    Raises:
        Unreadable: ADJ007 the limits have no bound.
    """
    if limits.lower is not None and limits.upper is not None:
        return (limits.lower + limits.upper) / 2
    bound = limits.upper if limits.upper is not None else limits.lower
    if bound is None:
        raise Unreadable("ADJ007", "the check has no limits to adjust to", "give it limits")
    if inside(limits, Fraction(0)):
        return bound / 2
    return bound - abs(bound) / 10 if limits.upper is not None else bound + abs(bound) / 10


def comfortable(limits: Limits, value: Fraction) -> bool:
    """Whether a value lies in the limits, no farther from the aim than half way to the nearer bound."""
    room = [abs(bound - aim(limits)) / 2 for bound in (limits.lower, limits.upper) if bound is not None]
    return inside(limits, value) and abs(value - aim(limits)) <= min(room)
