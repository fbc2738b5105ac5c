"""The expected gross mass of every variant, worked out from the nodes of a file."""

from __future__ import annotations

from fractions import Fraction

from traveler.definition.facts import Facts, items, scalar, texts
from traveler.definition.mass import total
from traveler.definition.setting import fill
from traveler.definition.source import Mapping
from traveler.measure.number import parse_number
from traveler.measure.unreadable import Unreadable


def expected_masses(facts: Facts) -> dict[str, str]:
    """Variant → its expected gross mass without options; left out where it cannot be worked out."""
    found = {}
    for variant, variables in facts.variants.items():
        try:
            lines = _lines(facts, variant, variables)
            if lines is not None:
                found[variant] = total(lines)
        except Unreadable:
            continue  # the mass or quantity itself is told where it is written
    return found


def _lines(facts: Facts, variant: str, variables: dict[str, str]) -> list[tuple[Fraction, str]] | None:
    empty = scalar(facts.crating, "crate", "empty_mass")
    if empty is None:
        return None
    lines = [(Fraction(1), empty.text)]
    for item in items(facts.crating, "packing_list"):
        if (
            not isinstance(item, Mapping)
            or variant not in facts.variants_of(item)
            or texts(item, "only_with")
        ):
            continue
        mass, quantity = scalar(item, "mass"), scalar(item, "quantity")
        written = (
            None
            if mass is None
            else variables.get("mass" if mass.text == "variant" else mass.text, mass.text)
        )
        if written is None or written == "variant":
            return None
        count = "1" if quantity is None else variables.get(quantity.text, fill(quantity.text, variables))
        lines.append((parse_number(count).value, fill(written, variables)))
    return lines
