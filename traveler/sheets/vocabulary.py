"""Words that reach a sheet from a plan and have a translation of ours.

Roles, signal words, directions, limits.
"""

from __future__ import annotations

import re

from traveler.definition.plan import Operation, Step, StepKind
from traveler.sheets.words import TwoWords, Words

TURN = re.compile(r"(?<![A-Za-z])turn(?![A-Za-z])")
PACKING, PIECE = "Packing list", "piece"
"""The two names that the definition room gives by itself, in English."""
LIMIT_WORD = re.compile(
    r"^(?:max|min)\b|(?<=\s)to(?=\s)|(?<=[^\d\s]\s)(?:max|min)(?=\.?$)|^chamfer\b|\bleg\b", re.IGNORECASE
)
"""The words of limits; ``min`` right behind a number is the unit of time."""


def spoken(word: str, say: Words | TwoWords) -> str:
    """A role, signal word, direction or kind of count in the language of the sheet; another word as it is."""
    return {
        "assembler": say("assembler"),
        "inspector": say("inspector"),
        "quality": say("quality"),
        "packer": say("packer"),
        "engineering": say("engineering"),
        "shipping": say("shipping"),
        "director": say("director"),
        "electrician": say("electrician"),
        "machinist": say("machinist"),
        "DANGER": say("DANGER"),
        "WARNING": say("WARNING"),
        "CAUTION": say("CAUTION"),
        "NOTICE": say("NOTICE"),
        "clockwise": say("clockwise"),
        "counterclockwise": say("counterclockwise"),
        "good": say("good"),
        "rework": say("rework"),
        "scrap": say("scrap"),
    }.get(word, word)


def operation_title(operation: Operation, say: Words) -> str:
    """The title of an operation; the two that the tool adds by itself are said in the sheet's language."""
    return {"Q": say("Final checks"), "C": say("Crating")}.get(operation.number, operation.title)


def sheet_name(name: str, say: Words) -> str:
    """What a sheet is called, by the name of its file; another name as it is."""
    return {
        "traveler": say("Traveler"),
        "final-checklist": say("Final checks"),
        "crating-sheet": say("Crating"),
        "certificate": say("Quality certificate"),
        "arrival-check": say("Arrival check"),
        "packing-list": say("Packing list"),
        "unit-label": say("Unit label"),
        "crate-label": say("Crate label"),
        "record": say("Record"),
    }.get(name, name)


def step_text(step: Step, say: Words) -> str:
    """What a step says; the packing step that the tool adds by itself is said in the sheet's language."""
    ours = step.kind is StepKind.PACK and step.text == PACKING
    return say("Packing list") if ours else step.text


def place_name(name: str, say: Words) -> str:
    """What a position, a value of one or a variable is called on the sheet.

    As the definition's ``names`` say; the pieces of a lot are counted by the tool.
    """
    return say("piece") if name == PIECE else say.names.get(name, name)


def spoken_turn(quantity: str, say: Words) -> str:
    """A pitch or effect as written, with the unit ``turn`` in the language of the sheet."""
    return TURN.sub(say("turn"), quantity)


def spoken_limits(text: str, say: Words) -> str:
    """Limits as written, with their words (``max``, ``min``, ``to`` …) in the language of the sheet."""
    words = {
        "max": say("max"),
        "min": say("min"),
        "to": say("to"),
        "chamfer": say("chamfer"),
        "leg": say("leg"),
    }
    return LIMIT_WORD.sub(lambda found: words[found[0].lower()], text)
