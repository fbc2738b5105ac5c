"""Checks of limits: readable for every variant, and of the dimension the gauge measures."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from traveler.definition.check.facts import (
    FileFacts,
    StepNode,
    for_variants,
    items,
    mapping,
    problem_at,
    scalar,
    texts,
)
from traveler.definition.check.header import mass_problems
from traveler.definition.mass import EXPECTED, total, with_expected
from traveler.definition.setting import fill_variables
from traveler.definition.source import Mapping, Scalar
from traveler.finding import Finding, Weight
from traveler.measure.limits import parse_limits
from traveler.measure.number import Unreadable, parse_number
from traveler.measure.quantity import parse_quantity
from traveler.measure.units import same_dimension


def expected_masses(facts: FileFacts) -> dict[str, str]:
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


def _lines(facts: FileFacts, variant: str, variables: dict[str, str]) -> list[tuple[Fraction, str]] | None:
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
        count = (
            "1"
            if quantity is None
            else variables.get(quantity.text, fill_variables(quantity.text, variables))
        )
        lines.append((parse_number(count).value, fill_variables(written, variables)))
    return lines


STAND_IN = "100 kg"
"""Stands for an expected mass that cannot be worked out, so that its tolerance can still be read."""


def limits(facts: FileFacts) -> Iterator[Finding]:
    """The codes of ``parse_limits``; DEF301 gauge of another dimension, DEF314 too coarse (warning)."""
    for step in facts.steps:
        written = step.text("limits")
        if written is not None:
            for text, variants in limit_texts(facts, step, written).items():
                about = for_variants(variants, len(facts.variants))
                try:
                    read = parse_limits(text)
                except Unreadable as problem:
                    yield problem_at(problem, written.place, about)
                    continue
                yield from _gauge(facts, step, read.unit, read.width, written)


def limit_texts(facts: FileFacts, step: StepNode, written: Scalar) -> dict[str, list[str]]:
    """The limits as they come out → the variants where they do."""
    variants = facts.variants_of(step.node)
    found: dict[str, list[str]] = {}
    for text, where in facts.values(" ".join(written.text.split()), variants).items():
        if not EXPECTED.match(text):
            found.setdefault(text, []).extend(where)
            continue
        masses = expected_masses(facts)
        for variant in where:
            filled = with_expected(text, masses.get(variant) or STAND_IN)
            found.setdefault(filled, []).append(variant)
    return found


def _gauge(facts: FileFacts, step: StepNode, unit: str, width: object, written: Scalar) -> Iterator[Finding]:
    gauge = step.text("gauge")
    kind = mapping(mapping(facts.root, "gauges"), gauge.text) if gauge else None
    resolution = scalar(kind, "resolution")
    if gauge is None or resolution is None:
        return
    try:
        steps = parse_quantity(resolution.text)
    except Unreadable:
        return
    if not same_dimension(steps.unit, unit):
        what = f"limits are in {unit}, but gauge kind '{gauge.text}' reads in {steps.unit}"
        yield Finding("DEF301", what, written.place, hint="correct the unit or name another gauge kind")
    elif width is not None and steps.difference_to(unit).value * 10 > width:  # type: ignore[operator]
        what = f"gauge kind '{gauge.text}' resolves {resolution.text}, coarser than a tenth of the tolerance"
        yield Finding(
            "DEF314", what, gauge.place, Weight.WARNING, hint="name a finer gauge kind, or widen the limits"
        )


def resolutions(facts: FileFacts) -> Iterator[Finding]:
    """A resolution that is not understood."""
    kinds = mapping(facts.root, "gauges")
    for _, kind in kinds.items() if kinds else ():
        resolution = scalar(kind, "resolution")
        if resolution is None:
            continue
        try:
            parse_quantity(resolution.text)
        except Unreadable as problem:
            yield problem_at(problem, resolution.place)


def expected_limits(facts: FileFacts) -> Iterator[Finding]:
    """DEF302 a mass that the expected gross mass needs is missing, DEF313 ``expected`` outside crating."""
    for step in facts.steps:
        written = step.text("limits")
        if written is None or not EXPECTED.match(written.text):
            continue
        if step.operation != "C":
            what = "'expected' stands for the gross mass of the crate, and this is no crating step"
            yield Finding("DEF313", what, written.place, hint="write the number")
            continue
        yield from _missing_masses(facts, written)


def _missing_masses(facts: FileFacts, written: Scalar) -> Iterator[Finding]:
    crate = mapping(facts.crating, "crate")
    if scalar(crate, "empty_mass") is None:
        place = crate.place if crate else written.place
        what = "the expected gross mass needs the crate's empty_mass"
        yield Finding("DEF302", what, place, hint="add 'empty_mass: … kg' to the crate")
    variants = mapping(facts.root, "variants")
    for key, variant in variants.items() if variants else ():
        if scalar(variant, "mass") is None:
            what = f"the expected gross mass needs the mass of variant '{key.text}'"
            yield Finding("DEF302", what, key.place, hint="add 'mass: … kg' to it")


def crate_mass(facts: FileFacts) -> Iterator[Finding]:
    """The crate's ``empty_mass`` as a mass."""
    mass = scalar(facts.crating, "crate", "empty_mass")
    if mass is not None:
        yield from mass_problems(mass)
