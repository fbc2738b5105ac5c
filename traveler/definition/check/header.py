"""Checks of the head of a definition: approver, date, serials, trade item numbers, variants, languages."""

from __future__ import annotations

import re
from collections.abc import Iterator

from traveler.definition.check.facts import FileFacts, mapping, problem_at, scalar
from traveler.definition.serial import pattern_problems
from traveler.definition.source import Mapping, Node, Scalar, Sequence
from traveler.finding import Finding, Weight
from traveler.measure.number import Unreadable
from traveler.measure.quantity import parse_quantity
from traveler.measure.units import same_dimension
from traveler.text import NotUnderstood, did_you_mean, read_day


def same_variables(facts: FileFacts) -> Iterator[Finding]:
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


def masses(facts: FileFacts) -> Iterator[Finding]:
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
    if not same_dimension(quantity.unit, "kg"):
        yield Finding("DEF303", f"'{written}' is not a mass", mass.place, hint="write it in kg, g or lb")
    elif quantity.value <= 0:
        yield Finding("DEF303", f"mass {written} is not above zero", mass.place, hint="write what it weighs")


APPROVER = "engineering"
"""The role that approves definitions."""


def approver(facts: FileFacts) -> Iterator[Finding]:
    """DEF107: ``approved_by`` is nobody known, or somebody without the role ``engineering``."""
    by = scalar(facts.root, "approved_by")
    if by is None or facts.people is None:
        return
    if by.text not in facts.people:
        yield Finding(
            "DEF107",
            f"'{by.text}' is nobody in people.yaml",
            by.place,
            hint=did_you_mean(by.text, list(facts.people)),
        )
    elif APPROVER not in facts.people[by.text]:
        able = [person for person, roles in facts.people.items() if APPROVER in roles]
        what = f"'{by.text}' does not have the role '{APPROVER}', which approves definitions"
        yield Finding(
            "DEF107", what, by.place, hint=f"these do: {', '.join(able)}" if able else "nobody has it"
        )


def revised(facts: FileFacts) -> Iterator[Finding]:
    """DEF316: the date of the revision is not in the calendar."""
    written = scalar(facts.root, "revised")
    if written is None or len(written.text) != 10:
        return
    try:
        read_day(written.text)
    except NotUnderstood as problem:
        yield Finding("DEF316", problem.what, written.place, hint=problem.hint)


def serial_pattern(facts: FileFacts) -> Iterator[Finding]:
    """SER003: the pattern of serials cannot give serials."""
    pattern = scalar(facts.root, "serials", "pattern")
    if pattern is not None:
        for what, hint in pattern_problems(pattern.text):
            yield Finding("SER003", what, pattern.place, hint=hint)


def trade_items(facts: FileFacts) -> Iterator[Finding]:
    """DEF317: a GTIN of a wrong length or with a wrong check digit (GS1 General Specifications, 7.9)."""
    written = [scalar(facts.root, "gtin")]
    variants = mapping(facts.root, "variants")
    written += [scalar(variant, "gtin") for _, variant in variants.items()] if variants else []
    for gtin in written:
        if gtin is not None and (problem := _gtin_problem(gtin)):
            yield Finding("DEF317", problem, gtin.place, hint="compare it with the barcode")


def _gtin_problem(gtin: Scalar) -> str | None:
    digits = gtin.text
    if not (digits.isascii() and digits.isdecimal() and len(digits) in (8, 12, 13, 14)):
        return f"'{digits}' is no GTIN: 8, 12, 13 or 14 digits are expected"
    total = sum(int(digit) * (3 if at % 2 else 1) for at, digit in enumerate(reversed(digits)))
    return None if total % 10 == 0 else f"the check digit of GTIN {digits} is wrong"


_LANGUAGE = re.compile(r"[a-z]{2}")


def languages(facts: FileFacts) -> Iterator[Finding]:
    """DEF315 (warning): a text is given in fewer languages than others of the file."""
    texts = list(_by_language(facts.root))
    used = sorted({key.text for text in texts for key, _ in text.items()})
    for text in texts:
        given = {key.text for key, _ in text.items()}
        if missing := [language for language in used if language not in given]:
            what = f"this text is not given in {', '.join(missing)}, other texts are"
            yield Finding(
                "DEF315", what, text.place, Weight.WARNING, hint="another language is printed instead"
            )


def _by_language(node: Node) -> Iterator[Mapping]:
    """The mappings from language to text below a node."""
    if isinstance(node, Sequence):
        for item in node.items:
            yield from _by_language(item)
    elif isinstance(node, Mapping):
        entries = list(node.items())
        if entries and all(
            isinstance(value, Scalar) and _LANGUAGE.fullmatch(key.text) for key, value in entries
        ):
            if {key.text for key, _ in entries} - {"at", "by", "do", "id"}:
                yield node
        else:
            for _, value in entries:
                yield from _by_language(value)
