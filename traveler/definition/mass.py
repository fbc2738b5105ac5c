"""Masses: their exact sum, limits around an expected one, and what one person may lift alone."""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction

from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import Unreadable, decimals_needed, exact_text
from traveler.measure.quantity import Quantity, parse_quantity

ALONE = parse_quantity("23 kg")
"""Load constant of the revised NIOSH lifting equation (Waters, Putz-Anderson and Garg, 1994), from memory.

It is the most that is recommended under the best of conditions. ISO 11228-1 has 25 kg for that; the lower one
is taken."""


def lifted_alone(text: str) -> Quantity:
    """The mass a shop lets one person lift.

    Raises:
        Unreadable: it is not a mass above zero.
    """
    mass = parse_quantity(text).to("kg")
    if mass.value <= 0:
        raise Unreadable("UNT003", f"{text!r} is not a mass that can be lifted", "write it like '23 kg'")
    return mass


def too_heavy(mass: str | None, alone: Quantity = ALONE) -> bool:
    """Whether this is more than one person may lift; what is not understood counts as heavy."""
    try:
        return mass is not None and parse_quantity(mass).to("kg").value > alone.to("kg").value
    except Unreadable:
        return True


EXPECTED = re.compile(r"^\s*expected\b")


def total(masses: Iterable[tuple[Fraction, str]]) -> str:
    """The exact sum of ``quantity × mass`` as text.

    It is given in the unit of the first mass, or in kg where decimals in that unit would never end.

    >>> total([(Fraction(1), "46 kg"), (Fraction(4), "210 g"), (Fraction(1), "18.5 kg")])
    '65.34 kg'

    Raises:
        Unreadable: a mass that is not understood, or is not a mass.
    """
    lines = [(quantity, parse_quantity(mass)) for quantity, mass in masses]
    unit = lines[0][1].unit
    for choice in (unit, "kg"):
        summed = sum((quantity * mass.to(choice).value for quantity, mass in lines), Fraction(0))
        if decimals_needed(summed) is not None:
            break
    return f"{exact_text(summed, 1)} {choice}"


def with_expected(limits: str, expected: str | None) -> str:
    """Limits with ``expected`` replaced by its number: ``expected ± 0.4 kg`` → ``65.34 ± 0.4 kg``.

    Raises:
        Unreadable: LIM006 where the expected mass is not known.
    """
    if not EXPECTED.match(limits) or expected is None:
        return limits
    number, unit = expected.split(" ", 1)
    full = EXPECTED.sub(expected, limits)
    short = EXPECTED.sub(number, limits)
    try:
        read, shorter = parse_limits(full), parse_limits(short)
        same = read.unit == unit and _bounds(shorter) == _bounds(read)
    except Unreadable:
        return full
    return short if same else full


def _bounds(limits: Limits) -> tuple[Fraction | None, Fraction | None, str]:
    return limits.lower, limits.upper, limits.unit
