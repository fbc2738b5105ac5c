"""Checks of crating: masses and quantities of the packing list, the wood mark, lifting of what is heavy."""

from __future__ import annotations

import re
from collections.abc import Iterator

from traveler.definition.check.facts import (
    FileFacts,
    all_texts,
    entries,
    finding_at,
    items,
    scalar,
    texts,
)
from traveler.definition.check.header import mass_problems
from traveler.definition.fields import CRATING
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
    """DEF103 a quantity that is not a number, DEF303 a mass that is none, and what cannot be read."""
    for item in _packing(facts):
        yield from _quantity(facts, scalar(item, "quantity"), facts.variants_of(item))
        mass = scalar(item, "mass")
        if mass is not None and mass.text != "variant":
            for text in facts.values(mass.text, facts.variants_of(item)):
                yield from mass_problems(mass, text)


def part_quantities(facts: FileFacts) -> Iterator[Finding]:
    """DEF103: a quantity of parts to fetch that is not a number."""
    for step in facts.steps:
        for part in items(step.node, "parts"):
            yield from _quantity(facts, scalar(part, "quantity"), facts.variants_of(step.node))


def _quantity(facts: FileFacts, written: Scalar | None, variants: list[str]) -> Iterator[Finding]:
    """A quantity that is neither a number above zero nor a variable."""
    if written is None:
        return
    for text, where in facts.values(written.text, variants).items():
        try:
            if parse_number(text).value > 0:
                continue
            what = f"quantity {text} is not above zero"
        except Unreadable:
            what = f"quantity '{text}' is neither a number nor a variable"
        hint = f"variant {', '.join(where)} sets it so"
        if text == written.text:
            hint = did_you_mean(text, facts.variables)
        yield finding_at(written, "DEF103", what, hint)


def expected_items(facts: FileFacts) -> Iterator[Finding]:
    """DEF302: the expected gross mass needs the mass of every item, and the product among them."""
    written = [step.text("limits") for step in facts.steps if step.operation == CRATING]
    expected = next((limits for limits in written if limits and EXPECTED.match(limits.text)), None)
    if expected is None:
        return
    masses = [scalar(item, "mass") for item in _packing(facts)]
    for item, mass in zip(_packing(facts), masses, strict=True):
        if mass is None:
            name = scalar(item, "item")
            what = f"the expected gross mass needs the mass of '{name.text if name else 'this item'}'"
            yield finding_at(item, "DEF302", what, "add 'mass: … kg' of one piece")
    if not any(mass is not None and mass.text == "variant" for mass in masses):
        left_out = "the expected gross mass leaves out the product"
        what = f"{left_out}: no item of the packing list has 'mass: variant'"
        yield finding_at(expected, "DEF302", what, "add an item with 'mass: variant'")


def packed_once(facts: FileFacts) -> Iterator[Finding]:
    """DEF318: a ``pack`` step outside crating, a second one, or one without a packing list."""
    steps = [step for step in facts.steps if step.word == "pack"]
    for number, step in enumerate(steps):
        if step.operation != CRATING or number or not _packing(facts):
            what = "'pack' stands once, in crating, where there is a packing list"
            yield finding_at(step.node, "DEF318", what, "move or delete it")


def wood_mark(facts: FileFacts) -> Iterator[Finding]:
    """DEF305: the crate needs its treatment mark, and no crating step confirms it (ISPM 15)."""
    mark = scalar(facts.crating, "crate", "wood_mark")
    step = facts.ids.get(WOOD_MARK)
    confirmed = step is not None and (step.operation, step.word) == (CRATING, "confirm")
    if mark is not None and mark.text == "required" and not confirmed:
        what = "the crate needs its treatment mark, and no crating step confirms it"
        hint = f"add '- confirm: Every piece of wood carries its mark.' with 'id: {WOOD_MARK}'"
        yield finding_at(mark, "DEF305", what, hint)


def heavy(facts: FileFacts) -> Iterator[Finding]:
    """DEF304 (warning): a variant above what one person may lift, and no caution speaks of lifting."""
    holders = [facts.crating, *facts.operations, *(step.node for step in facts.steps)]
    cautions = [caution for holder in holders for caution in items(holder, "cautions")]
    if any(LIFTING.search(text.text) for caution in cautions for text in all_texts(caution)):
        return
    for key, variant in entries(facts.root, "variants"):
        mass = scalar(variant, "mass")
        if mass is None or any(mass_problems(mass)) or not too_heavy(mass.text, facts.alone):
            continue
        weighs = f"variant '{key.text}' weighs {mass.text}, over {facts.alone}"
        hint = "add a caution, like 'WARNING: Lift with two people or a hoist.'"
        yield finding_at(mass, "DEF304", f"{weighs}; no caution speaks of lifting it", hint, Weight.WARNING)


def marks(facts: FileFacts) -> Iterator[Finding]:
    """DEF203: a handling mark named twice."""
    seen: set[str] = set()
    for mark in texts(facts.crating, "marks"):
        if mark.text in seen:
            yield finding_at(mark, "DEF203", f"handling mark '{mark.text}' is named twice", "name it once")
        seen.add(mark.text)
