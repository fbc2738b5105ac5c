"""The expected gross mass of a crate, worked out exactly from variant, crate and packing list."""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction

from traveler.definition.setting import Setting
from traveler.measure.limits import parse_limits
from traveler.measure.number import decimals_needed, exact_text, parse_number
from traveler.measure.quantity import Quantity, parse_quantity
from traveler.measure.unreadable import Unreadable

EXPECTED = re.compile(r"^\s*expected\b")


def total(masses: Iterable[tuple[Fraction, str]]) -> str:
    """The exact sum of ``quantity × mass`` as text.

    It is given in the unit of the first mass, or in kg where decimals in that unit would never end.

    >>> total([(Fraction(1), "46 kg"), (Fraction(4), "210 g"), (Fraction(1), "18.5 kg")])
    '65.34 kg'

    Raises:
        Unreadable: a mass that is not understood, or is no mass.
    """
    lines = [(quantity, parse_quantity(mass)) for quantity, mass in masses]
    unit = lines[0][1].unit
    for choice in (unit, "kg"):
        parts = [(quantity * one.to(choice).value, one) for quantity, one in lines]
        summed = sum((part for part, _ in parts), Fraction(0))
        if decimals_needed(summed) is not None:
            break
    return f"{exact_text(summed, 1)} {choice}"


def gross_mass(setting: Setting) -> str | None:
    """What the closed crate of this variant should weigh; None if a mass is not given.

    Raises:
        Unreadable: a mass or quantity that is not understood.
    """
    crating = setting.definition.crating
    if crating is None or crating.crate.empty_mass is None:
        return None
    masses: list[tuple[Fraction, str]] = [(Fraction(1), crating.crate.empty_mass)]
    for item in crating.packing_list:
        if not setting.holds(item):
            continue
        mass = setting.chosen.mass if item.mass == "variant" else item.mass
        if mass is None:
            return None
        masses.append((parse_number(setting.number(item.quantity)).value, setting.number(mass)))
    return total(masses)


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
        same = parse_limits(full).unit == unit and _bounds(short) == _bounds(full)
    except Unreadable:
        return full
    return short if same else full


def _bounds(limits: str) -> tuple[Fraction | None, Fraction | None, str]:
    read = parse_limits(limits)
    return read.lower, read.upper, read.unit


def is_mass(quantity: Quantity) -> bool:
    """Whether a quantity is a mass."""
    try:
        quantity.to("kg")
    except Unreadable:
        return False
    return True
