"""Checks of the head of a definition: approver, date, serials, trade item numbers, variants, languages."""

from __future__ import annotations

import re
from collections.abc import Iterator

from traveler.definition.check.facts import FileFacts, entries, finding_at, problem_at, scalar, unknown
from traveler.definition.serial import pattern_problems
from traveler.definition.source import Mapping, Node, Scalar, Sequence
from traveler.finding import Finding, Weight
from traveler.measure.number import Unreadable
from traveler.measure.quantity import parse_quantity, same_dimension
from traveler.text import NotUnderstood, read_day

APPROVER = "engineering"
"""The role that approves definitions."""

_LANGUAGE = re.compile(r"[a-z]{2}")


def approver(facts: FileFacts) -> Iterator[Finding]:
    """DEF107: ``approved_by`` is nobody known, or somebody without the role ``engineering``."""
    by = scalar(facts.root, "approved_by")
    if by is None or facts.people is None:
        return
    if by.text not in facts.people:
        yield unknown(by, "DEF107", f"'{by.text}' is not in people.yaml", facts.people)
    elif APPROVER not in facts.people[by.text]:
        able = [person for person, roles in facts.people.items() if APPROVER in roles]
        what = f"'{by.text}' does not have the role '{APPROVER}', which approves definitions"
        yield finding_at(by, "DEF107", what, f"these do: {', '.join(able)}" if able else "nobody has it")


def revised(facts: FileFacts) -> Iterator[Finding]:
    """DEF316: the date of the revision is not in the calendar."""
    written = scalar(facts.root, "revised")
    if written is None or len(written.text) != 10:
        return
    try:
        read_day(written.text)
    except NotUnderstood as problem:
        yield finding_at(written, "DEF316", problem.what, problem.hint)


def serial_pattern(facts: FileFacts) -> Iterator[Finding]:
    """SER003: the pattern of serials cannot give serials."""
    pattern = scalar(facts.root, "serials", "pattern")
    if pattern is not None:
        for what, hint in pattern_problems(pattern.text):
            yield finding_at(pattern, "SER003", what, hint)


def trade_items(facts: FileFacts) -> Iterator[Finding]:
    """DEF317: a GTIN of a wrong length or with a wrong check digit (GS1 General Specifications, 7.9)."""
    for holder in (facts.root, *(variant for _, variant in entries(facts.root, "variants"))):
        gtin = scalar(holder, "gtin")
        if gtin is not None and (problem := _gtin_problem(gtin.text)):
            yield finding_at(gtin, "DEF317", problem, "compare it with the barcode")


def _gtin_problem(digits: str) -> str | None:
    if not (digits.isascii() and digits.isdecimal() and len(digits) in (8, 12, 13, 14)):
        return f"'{digits}' is not a GTIN: 8, 12, 13 or 14 digits are expected"
    total = sum(int(digit) * (3 if at % 2 else 1) for at, digit in enumerate(reversed(digits)))
    return None if total % 10 == 0 else f"the check digit of GTIN {digits} is wrong"


def same_variables(facts: FileFacts) -> Iterator[Finding]:
    """DEF306: a variant does not set what another one sets."""
    for key, _ in entries(facts.root, "variants"):
        own = facts.variants.get(key.text, {})
        for name in facts.variables:
            if name not in own and name != "mass":
                what = f"variant '{key.text}' does not set '{name}', other variants do"
                yield finding_at(key, "DEF306", what, f"add '{name}: …' to it")


def masses(facts: FileFacts) -> Iterator[Finding]:
    """DEF303: the mass of a variant, of an option or of the crate is not a mass."""
    holders = [node for section in ("variants", "options") for _, node in entries(facts.root, section)]
    written = [scalar(holder, "mass") for holder in holders]
    for mass in (*written, scalar(facts.crating, "crate", "empty_mass")):
        if mass is not None:
            yield from mass_problems(mass)


def mass_problems(mass: Scalar, text: str | None = None) -> Iterator[Finding]:
    """What is wrong with a mass: not understood, not a mass, or not above zero."""
    written = mass.text if text is None else text
    try:
        quantity = parse_quantity(written)
    except Unreadable as problem:
        yield problem_at(problem, mass)
        return
    if not same_dimension(quantity.unit, "kg"):
        yield finding_at(mass, "DEF303", f"'{written}' is not a mass", "write it in kg, g or lb")
    elif quantity.value <= 0:
        yield finding_at(mass, "DEF303", f"mass {written} is not above zero", "write what it weighs")


def languages(facts: FileFacts) -> Iterator[Finding]:
    """DEF315 (warning): a text is given in fewer languages than others of the file."""
    texts = list(_by_language(facts.root))
    used = sorted({key.text for text in texts for key, _ in text.items()})
    for text in texts:
        given = {key.text for key, _ in text.items()}
        if missing := [language for language in used if language not in given]:
            what = f"this text is not given in {', '.join(missing)}, other texts are"
            yield finding_at(text, "DEF315", what, "another language is printed instead", Weight.WARNING)


def _by_language(node: Node) -> Iterator[Mapping]:
    """The mappings from language to text below a node."""
    if isinstance(node, Sequence):
        for item in node.items:
            yield from _by_language(item)
    elif isinstance(node, Mapping):
        pairs = list(node.items())
        if pairs and all(isinstance(value, Scalar) and _LANGUAGE.fullmatch(key.text) for key, value in pairs):
            if {key.text for key, _ in pairs} - {"at", "by", "do", "id"}:
                yield node
        else:
            for _, value in pairs:
                yield from _by_language(value)
