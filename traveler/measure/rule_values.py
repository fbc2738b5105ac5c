"""The numbers of an adjust rule as written in a definition, and a reading against its limits in words."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from traveler.measure.bounds import Limits
from traveler.measure.number import parse_number, shown
from traveler.measure.quantity import Quantity, parse_quantity
from traveler.measure.units import convert_difference, parse_unit
from traveler.measure.unreadable import Unreadable


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
        raise Unreadable("ADJ003", f"{name} {text!r} is no length: {problem.what}", problem.hint) from problem
    if found <= 0:
        raise Unreadable("ADJ003", f"{name} {text!r} is not above zero", f"give the {name} as it is")
    return found


def in_unit(reading: Quantity, unit: str) -> Quantity:
    """A reading in another unit.

    Raises:
        Unreadable: ADJ003 it is of another dimension.
    """
    try:
        return reading.to(unit)
    except Unreadable as problem:
        raise Unreadable("ADJ003", f"reading {reading.written}: {problem.what}", problem.hint) from problem


def last_digit(reading: Quantity, unit: str) -> Fraction:
    """One step of the reading's last written digit, in another unit."""
    return convert_difference(Fraction(1, 10**reading.decimals), reading.unit, unit)


def decimals_of(reading: Quantity, limits: Limits) -> int:
    """The decimals an expected reading is shown with."""
    return max(reading.decimals, limits.decimals)


def how_far_off(limits: Limits, reading: Quantity) -> str:
    """A reading (in the unit of the limits) against the limit it misses: ``reads 0.09 mm, 0.04 mm over``."""
    over = limits.upper is not None and reading.value > limits.upper
    bound = (limits.upper if over else limits.lower) or Fraction(0)
    by = shown(abs(reading.value - bound), decimals_of(reading, limits))
    return f"reads {reading.written}, {by} {limits.unit} {'over' if over else 'under'}"
