"""Checks of the head of a definition: who approved it, its date, its serials, its trade item numbers."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from traveler.definition.facts import Facts, mapping, scalar
from traveler.definition.serial import pattern_problems
from traveler.definition.shape import nearest
from traveler.definition.source import Scalar
from traveler.finding import Finding

APPROVER = "engineering"
"""The role that approves definitions."""


def approver(facts: Facts) -> Iterator[Finding]:
    """DEF107: ``approved_by`` is nobody known, or somebody without the role ``engineering``."""
    by = scalar(facts.root, "approved_by")
    if by is None or facts.people is None:
        return
    if by.text not in facts.people:
        yield Finding(
            "DEF107",
            f"'{by.text}' is nobody in people.yaml",
            by.place,
            hint=nearest(by.text, list(facts.people)),
        )
    elif APPROVER not in facts.people[by.text]:
        able = [person for person, roles in facts.people.items() if APPROVER in roles]
        what = f"'{by.text}' does not have the role '{APPROVER}', which approves definitions"
        yield Finding(
            "DEF107", what, by.place, hint=f"these do: {', '.join(able)}" if able else "nobody has it"
        )


def revised(facts: Facts) -> Iterator[Finding]:
    """DEF316: the date of the revision is not in the calendar."""
    written = scalar(facts.root, "revised")
    if written is None or len(written.text) != 10:
        return
    try:
        date.fromisoformat(written.text)
    except ValueError:
        yield Finding("DEF316", f"there is no day {written.text}", written.place, hint="write year-month-day")


def serial_pattern(facts: Facts) -> Iterator[Finding]:
    """SER003: the pattern of serials cannot give serials."""
    pattern = scalar(facts.root, "serials", "pattern")
    if pattern is not None:
        for what, hint in pattern_problems(pattern.text):
            yield Finding("SER003", what, pattern.place, hint=hint)


def trade_items(facts: Facts) -> Iterator[Finding]:
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
