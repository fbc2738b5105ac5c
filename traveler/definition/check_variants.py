"""Checks of variants and options: the same variables everywhere, masses that are masses."""

from __future__ import annotations

from collections.abc import Iterator

from traveler.definition.facts import Facts, mapping, scalar
from traveler.definition.mass import is_mass
from traveler.definition.reading import problem_at
from traveler.definition.source import Scalar
from traveler.finding import Finding
from traveler.measure.quantity import parse_quantity
from traveler.measure.unreadable import Unreadable


def same_variables(facts: Facts) -> Iterator[Finding]:
    """DEF306: a variant does not set what another one sets."""
    variants = mapping(facts.root, "variants")
    if variants is None:
        return
    for entry in variants.items():
        key = entry[0]
        own = facts.variants.get(key.text, {})
        for name in facts.variables:
            if name not in own and name != "mass":
                what = f"variant '{key.text}' does not set '{name}', other variants do"
                yield Finding("DEF306", what, key.place, hint=f"add '{name}: …' to it")


def masses(facts: Facts) -> Iterator[Finding]:
    """DEF303: the mass of a variant, or an option is not a mass."""
    for section in ("variants", "options"):
        found = mapping(facts.root, section)
        for _, holder in found.items() if found else ():
            if (mass := scalar(holder, "mass")) is not None:
                yield from mass_problems(mass)


def mass_problems(mass: Scalar, text: str | None = None) -> Iterator[Finding]:
    """What is wrong with a mass: not understood, no mass, or not above zero."""
    written = mass.text if text is None else text
    try:
        quantity = parse_quantity(written)
    except Unreadable as problem:
        yield problem_at(problem, mass.place)
        return
    if not is_mass(quantity):
        yield Finding("DEF303", f"'{written}' is not a mass", mass.place, hint="write it in kg, g or lb")
    elif quantity.value <= 0:
        yield Finding("DEF303", f"mass {written} is not above zero", mass.place, hint="write what it weighs")
