"""Words that reach a sheet from a plan and have a translation of ours.

Roles, signal words, directions, limits.
"""

from __future__ import annotations

import re

from traveler.sheets.words import Words

LIMIT_WORD = re.compile(r"^(?:max|min)\b|(?<=\s)to(?=\s)")


def spoken(word: str, say: Words) -> str:
    """A role, signal word, direction or kind of count in the language of the sheet; another word as it is."""
    return {
        "assembler": say("assembler"),
        "inspector": say("inspector"),
        "quality": say("quality"),
        "packer": say("packer"),
        "engineering": say("engineering"),
        "shipping": say("shipping"),
        "director": say("director"),
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


def spoken_limits(text: str, say: Words) -> str:
    """Limits as written, with ``max``, ``min`` and ``to`` in the language of the sheet."""
    words = {"max": say("max"), "min": say("min"), "to": say("to")}
    return LIMIT_WORD.sub(lambda found: words[found[0]], text)
