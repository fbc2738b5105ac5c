"""Checks of crating: masses and quantities of the packing list, the wood mark, lifting of what is heavy."""

from __future__ import annotations

import re
from collections.abc import Iterator

from traveler.definition.check.facts import FileFacts, all_texts, items, mapping, scalar, texts
from traveler.definition.check.header import mass_problems
from traveler.definition.mass import EXPECTED, too_heavy
from traveler.definition.source import Mapping, Scalar
from traveler.finding import Finding, Weight
from traveler.measure.number import Unreadable, parse_number
from traveler.text import did_you_mean

LIFTING = re.compile(
    r"\b(lift\w*|hoist\w*|crane|two people|two persons|team of two|fork\w*|pallet truck"
    r"|levant\w*|alzar?|alce\w*|izar?|ice\w*|polipasto|grúa|dos personas|carretilla|transpaleta)\b",
    re.I,
)
"""Words by which a caution, English or Spanish, is known to speak of lifting."""
WOOD_MARK = "wood-mark"
"""The id of the step that confirms the treatment mark (ISPM 15) on the wood."""


def _packing(facts: FileFacts) -> list[Mapping]:
    return [item for item in items(facts.crating, "packing_list") if isinstance(item, Mapping)]


def packing_list(facts: FileFacts) -> Iterator[Finding]:
    """DEF103 a quantity that is no number, DEF303 a mass that is none, and what cannot be read."""
    for item in _packing(facts):
        quantity, mass = scalar(item, "quantity"), scalar(item, "mass")
        if quantity is not None:
            yield from quantities(facts, quantity, facts.variants_of(item))
        if mass is not None and mass.text != "variant":
            for text in facts.values(mass.text, facts.variants_of(item)):
                yield from mass_problems(mass, text)


def quantities(facts: FileFacts, written: Scalar, variants: list[str]) -> Iterator[Finding]:
    """A quantity that is neither a number above zero nor a variable."""
    for text, where in facts.values(written.text, variants).items():
        try:
            if parse_number(text).value > 0:
                continue
            what = f"quantity {text} is not above zero"
        except Unreadable:
            what = f"quantity '{text}' is neither a number nor a variable"
        hint = (
            did_you_mean(text, facts.variables)
            if text == written.text
            else f"variant {', '.join(where)} sets it so"
        )
        yield Finding("DEF103", what, written.place, hint=hint)


def part_quantities(facts: FileFacts) -> Iterator[Finding]:
    """A quantity of parts to fetch that is no number."""
    for step in facts.steps:
        for part in items(step.node, "parts"):
            quantity = scalar(part, "quantity")
            if quantity is not None:
                yield from quantities(facts, quantity, facts.variants_of(step.node))


def expected_items(facts: FileFacts) -> Iterator[Finding]:
    """DEF302: the expected gross mass needs the mass of every item, and the product among them."""
    written = [step.text("limits") for step in facts.steps if step.operation == "C"]
    expected = next(
        (scalar for scalar in written if scalar is not None and EXPECTED.match(scalar.text)), None
    )
    if expected is None:
        return
    for item in _packing(facts):
        if scalar(item, "mass") is None:
            name = scalar(item, "item")
            what = f"the expected gross mass needs the mass of '{name.text if name else 'this item'}'"
            yield Finding("DEF302", what, item.place, hint="add 'mass: … kg' of one piece")
    masses = [scalar(item, "mass") for item in _packing(facts)]
    if not any(mass is not None and mass.text == "variant" for mass in masses):
        what = (
            "the expected gross mass leaves out the product: no item of the packing list has 'mass: variant'"
        )
        yield Finding("DEF302", what, expected.place, hint="add an item with 'mass: variant'")


def packed_once(facts: FileFacts) -> Iterator[Finding]:
    """DEF318: a ``pack`` step outside crating, a second one, or one without a packing list."""
    seen = None
    for step in facts.steps:
        if step.word != "pack":
            continue
        if step.operation != "C" or seen is not None or not _packing(facts):
            what = "'pack' stands once, in crating, where there is a packing list"
            yield Finding("DEF318", what, step.node.place, hint="move or delete it")
        seen = step


def wood_mark(facts: FileFacts) -> Iterator[Finding]:
    """DEF305: the crate needs its treatment mark, and no crating step confirms it (ISPM 15)."""
    mark = scalar(facts.crating, "crate", "wood_mark")
    step = facts.ids.get(WOOD_MARK)
    confirmed = step is not None and (step.operation, step.word) == ("C", "confirm")
    if mark is not None and mark.text == "required" and not confirmed:
        what = "the crate needs its treatment mark, and no crating step confirms it"
        hint = f"add '- confirm: Every piece of wood carries its mark.' with 'id: {WOOD_MARK}'"
        yield Finding("DEF305", what, mark.place, hint=hint)


def heavy(facts: FileFacts) -> Iterator[Finding]:
    """DEF304 (warning): a variant above what one person may lift, and no caution speaks of lifting."""
    if any(LIFTING.search(text.text) for text in _caution_texts(facts)):
        return
    variants = mapping(facts.root, "variants")
    for key, variant in variants.items() if variants else ():
        mass = scalar(variant, "mass")
        if mass is None or any(mass_problems(mass)):
            continue
        if too_heavy(mass.text, facts.alone):
            weighs = f"variant '{key.text}' weighs {mass.text}, over {facts.alone}"
            what = f"{weighs}; no caution speaks of lifting it"
            hint = "add a caution, like 'WARNING: Lift with two people or a hoist.'"
            yield Finding("DEF304", what, mass.place, Weight.WARNING, hint=hint)


def _caution_texts(facts: FileFacts) -> Iterator[Scalar]:
    holders = [
        *facts.operations,
        *(step.node for step in facts.steps),
        *([facts.crating] if facts.crating else []),
    ]
    for holder in holders:
        for caution in items(holder, "cautions"):
            yield from all_texts(caution)


def marks(facts: FileFacts) -> Iterator[Finding]:
    """DEF203: a handling mark named twice."""
    seen: set[str] = set()
    for mark in texts(facts.crating, "marks"):
        if mark.text in seen:
            yield Finding(
                "DEF203", f"handling mark '{mark.text}' is named twice", mark.place, hint="name it once"
            )
        seen.add(mark.text)
