"""Checks of limits: readable for every variant, and of the dimension the gauge measures."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from traveler.definition.check.facts import (
    FileFacts,
    StepNode,
    entries,
    finding_at,
    items,
    mapping,
    problem_at,
    scalar,
    texts,
    unreadable,
)
from traveler.definition.fields import CRATING
from traveler.definition.mass import EXPECTED, total, with_expected
from traveler.definition.setting import fill_variables
from traveler.definition.source import Mapping, Scalar
from traveler.finding import Finding, Weight
from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import Unreadable, parse_number
from traveler.measure.quantity import parse_quantity, same_dimension

STAND_IN = "100 kg"
"""Stands for an expected mass that cannot be worked out, so that its tolerance can still be read."""


def limits(facts: FileFacts) -> Iterator[Finding]:
    """The codes of ``parse_limits``; DEF301 gauge of another dimension, DEF314 too coarse (warning)."""
    for step in facts.steps:
        written = step.text("limits")
        if written is None:
            continue
        for text, variants in limit_texts(facts, step, written).items():
            try:
                read = parse_limits(text)
            except Unreadable as problem:
                some = variants and len(variants) < len(facts.variants)
                yield problem_at(problem, written, f" (variant {', '.join(variants)})" if some else "")
                continue
            yield from _gauge(facts, step, read, written)


def limit_texts(facts: FileFacts, step: StepNode, written: Scalar) -> dict[str, list[str]]:
    """The limits as they come out → the variants where they do."""
    variants = facts.variants_of(step.node)
    found: dict[str, list[str]] = {}
    for text, where in facts.values(" ".join(written.text.split()), variants).items():
        if not EXPECTED.match(text):
            found.setdefault(text, []).extend(where)
            continue
        for variant in where:
            filled = with_expected(text, _expected_mass(facts, variant) or STAND_IN)
            found.setdefault(filled, []).append(variant)
    return found


def _expected_mass(facts: FileFacts, variant: str) -> str | None:
    """The expected gross mass of a variant without options; None where it cannot be worked out.

    What is wrong with a mass or a quantity is reported where it is written.
    """
    empty, variables = scalar(facts.crating, "crate", "empty_mass"), facts.variants[variant]
    if empty is None:
        return None
    try:
        lines = [(Fraction(1), empty.text)]
        for item in items(facts.crating, "packing_list"):
            if (
                not isinstance(item, Mapping)
                or variant not in facts.variants_of(item)
                or texts(item, "only_with")
            ):
                continue
            mass, quantity = scalar(item, "mass"), scalar(item, "quantity")
            name = "mass" if mass is None or mass.text == "variant" else mass.text
            if mass is None or (mass.text == "variant" and name not in variables):
                return None
            count = quantity.text if quantity else "1"
            count = variables.get(count, fill_variables(count, variables))
            piece = fill_variables(variables.get(name, mass.text), variables)
            lines.append((parse_number(count).value, piece))
        return total(lines)
    except Unreadable:
        return None


def _gauge(facts: FileFacts, step: StepNode, read: Limits, written: Scalar) -> Iterator[Finding]:
    gauge = step.text("gauge")
    kind = mapping(mapping(facts.root, "gauges"), gauge.text) if gauge else None
    resolution = scalar(kind, "resolution")
    if gauge is None or resolution is None or any(unreadable(parse_quantity, resolution)):
        return
    steps, width = parse_quantity(resolution.text), read.width
    if not same_dimension(steps.unit, read.unit):
        what = f"limits are in {read.unit}, but gauge kind '{gauge.text}' reads in {steps.unit}"
        yield finding_at(written, "DEF301", what, "correct the unit or name another gauge kind")
    elif width is not None and steps.difference_to(read.unit).value * 10 > width:
        what = f"gauge kind '{gauge.text}' resolves {resolution.text}, coarser than a tenth of the tolerance"
        hint = "name a finer gauge kind, or widen the limits"
        yield finding_at(gauge, "DEF314", what, hint, Weight.WARNING)


def resolutions(facts: FileFacts) -> Iterator[Finding]:
    """A resolution that is not understood."""
    for _, kind in entries(facts.root, "gauges"):
        if (resolution := scalar(kind, "resolution")) is not None:
            yield from unreadable(parse_quantity, resolution)


def expected_limits(facts: FileFacts) -> Iterator[Finding]:
    """DEF302 a mass that the expected gross mass needs is missing, DEF313 ``expected`` outside crating."""
    for step in facts.steps:
        written = step.text("limits")
        if written is None or not EXPECTED.match(written.text):
            continue
        if step.operation == CRATING:
            yield from _missing_masses(facts, written)
        else:
            what = "'expected' stands for the gross mass of the crate, and this is not a crating step"
            yield finding_at(written, "DEF313", what, "write the number")


def _missing_masses(facts: FileFacts, written: Scalar) -> Iterator[Finding]:
    crate = mapping(facts.crating, "crate")
    if scalar(crate, "empty_mass") is None:
        what = "the expected gross mass needs the crate's empty_mass"
        yield finding_at(crate or written, "DEF302", what, "add 'empty_mass: … kg' to the crate")
    for key, variant in entries(facts.root, "variants"):
        if scalar(variant, "mass") is None:
            what = f"the expected gross mass needs the mass of variant '{key.text}'"
            yield finding_at(key, "DEF302", what, "add 'mass: … kg' to it")
