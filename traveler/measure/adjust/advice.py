"""What an adjustment advises, the reading it aims for, and the numbers of an adjust rule as written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from traveler.measure.limits import Limits
from traveler.measure.number import Unreadable, display_number, exact_text, format_number, parse_number
from traveler.measure.quantity import Quantity, convert_difference, parse_quantity, parse_unit


@dataclass(frozen=True, slots=True)
class Foot:
    """What to do at one leveling foot. ``turns`` is positive where the foot is raised."""

    place: str
    turns: Fraction
    direction: str
    text: str
    expected: Quantity


@dataclass(frozen=True, slots=True)
class Advice:
    """What to adjust, how far and which way, and why.

    ``amount`` is without sign, in ``unit`` (``turn`` for screws); None where the rule is a sentence or there
    is not advice yet. ``expected`` is the reading that should follow; None where it is not known. ``needed``
    is False when the readings are within limits already. ``reaches`` is False when even following it exactly
    leaves a reading outside the limits.
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
    value = exact_text(quantity.value, quantity.decimals)
    return {"value": value, "unit": quantity.unit, "shown": quantity.written}


def shown_quantity(value: Fraction, unit: str, decimals: int) -> Quantity:
    """An exact value with the digits it is shown in."""
    return Quantity(value, unit, f"{format_number(value, decimals)} {unit}", decimals)


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
    if limits.holds(Fraction(0)):
        return bound / 2
    return bound - abs(bound) / 10 if limits.upper is not None else bound + abs(bound) / 10


def comfortable(limits: Limits, value: Fraction) -> bool:
    """Whether a value lies in the limits, no farther from the aim than half way to the nearer bound."""
    room = [abs(bound - aim(limits)) / 2 for bound in (limits.lower, limits.upper) if bound is not None]
    return limits.holds(value) and abs(value - aim(limits)) <= min(room)


def value_of(values: Mapping[str, str], name: str, rule: str) -> str:
    """A value of a rule.

    Raises:
        Unreadable: ADJ002 it is missing.
    """
    if not values.get(name):
        raise Unreadable("ADJ002", f"the {rule} rule has no {name!r}", f"give {name} in the definition")
    return values[name]


def effect_per(text: str, unit: str, by: str) -> Fraction:
    """``0.8 mm/turn`` as a number of ``unit`` for one ``by``; the last solidus divides.

    >>> effect_per("0.04 in/turn", "mm", "turn")
    Fraction(127, 125)

    Raises:
        Unreadable: ADJ003, also for an effect of 0.
    """
    over, _, under = text.replace(" per ", "/").rpartition("/")
    try:
        size = parse_quantity(over).difference_to(unit).value
        effect = size / convert_difference(Fraction(1), parse_unit(under.strip()).symbol, by)
    except Unreadable as problem:
        what = f"effect {text!r} is not in {unit}/{by}: {problem.what}"
        raise Unreadable("ADJ003", what, f"write it like '0.8 {unit}/{by}'") from problem
    if effect == 0:
        raise Unreadable("ADJ003", f"effect {text!r} is 0", "give how far one turn moves the reading")
    return effect


def gain_in(text: str, unit: str) -> tuple[Fraction, str]:
    """A gain for readings in ``unit``, and the unit it corrects in: ``0.9``, or ``0.02 mm/deg`` (mm for deg).

    Raises:
        Unreadable: ADJ003.
    """
    over, _, under = text.rpartition("/")
    try:
        if not any(letter.isalpha() or letter == "°" for letter in text):
            return parse_number(text).value, unit
        size = parse_quantity(over)
        return size.value / convert_difference(Fraction(1), parse_unit(under.strip()).symbol, unit), size.unit
    except Unreadable as problem:
        what = f"gain {text!r} is not understood: {problem.what}"
        raise Unreadable("ADJ003", what, f"write it like 0.9, or 0.02 mm/{unit}") from problem


def length_in(text: str, name: str, unit: str) -> Fraction:
    """A length above zero in ``unit``.

    Raises:
        Unreadable: ADJ003.
    """
    try:
        found = parse_quantity(text).to(unit).value
    except Unreadable as problem:
        what = f"{name} {text!r} is not a length: {problem.what}"
        raise Unreadable("ADJ003", what, problem.hint) from problem
    if found <= 0:
        raise Unreadable("ADJ003", f"{name} {text!r} is not above zero", f"give the {name} as it is")
    return found


def reading_in(reading: Quantity, unit: str) -> Quantity:
    """A reading in another unit.

    Raises:
        Unreadable: ADJ003 it is of another dimension.
    """
    try:
        return reading.to(unit)
    except Unreadable as problem:
        raise Unreadable("ADJ003", f"reading {reading.written}: {problem.what}", problem.hint) from problem


def decimals_of(reading: Quantity, limits: Limits) -> int:
    """The decimals an expected reading is shown with."""
    return max(reading.decimals, limits.decimals)


def how_far_off(limits: Limits, reading: Quantity) -> str:
    """A reading (in the unit of the limits) against the limit it misses: ``reads 0.09 mm, 0.04 mm over``."""
    excess = limits.excess(reading.value)
    by = display_number(abs(excess), decimals_of(reading, limits))
    return f"reads {reading.written}, {by} {limits.unit} {'over' if excess > 0 else 'under'}"


def advice_to(
    text: str, limits: Limits, reading: Quantity, after: Fraction, move: tuple[Fraction, str, str], why: str
) -> Advice:
    """Advice whose effect is known: ``after`` is the reading that should follow.

    ``move`` is the amount (with or without sign), its unit and the direction.
    """
    amount, unit, direction = move
    return Advice(
        text,
        amount=abs(amount),
        unit=unit,
        direction=direction,
        expected=shown_quantity(after, limits.unit, decimals_of(reading, limits)),
        reaches=limits.holds(after),
        reason=f"{how_far_off(limits, reading)}; {why}",
    )
