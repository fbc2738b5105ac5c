"""What of a unit is stamped onto a rendered sheet, and what stands there on the master.

Serial, order, due day and day of issue differ from unit to unit; all of them are set in the mono face,
where a text's width depends on its length alone. A unit's *kind* is its face with placeholders of the same
lengths: units of one kind have the same pages but for those texts.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict

from traveler.sheets.sheet import UnitFace

PLACEHOLDERS: Mapping[str, str] = {
    "serial": "ZQ7XJ0KVY9WP4HUGM6RC3ENB8DTFSA2L",
    "order": "q7zx0jk4vw",
    "due": "7391-84-62",
    "issued": "6284-93-17",
}
"""Part of a unit's face → what its placeholder is cut from. No order is longer than the head has room for."""
SHORTEST = 4
"""Characters below which a placeholder could be met with by chance."""
PLAIN = re.compile(r"[!-~]+(?: [!-~]+)*")
"""What is set letter by letter: printable ASCII, single spaces within."""


def kind_of(unit: UnitFace) -> UnitFace:
    """The unit's face with a placeholder wherever a value can be stamped; other values stay as they are.

    >>> kind_of(UnitFace("BW8-2648-0012T", order="4471", due="2026-12-24")).order
    'q7zx'
    """
    shown = {name: PLACEHOLDERS[name][: len(text)] for name, text in stamped(unit).items()}
    return UnitFace(**asdict(unit) | shown)


def stamped(unit: UnitFace) -> dict[str, str]:
    """Placeholder's name → the unit's own text, for all that is stamped."""
    values = {name: getattr(unit, name) or "" for name in PLACEHOLDERS}
    return {name: text for name, text in values.items() if _stampable(name, text)}


def _stampable(name: str, text: str) -> bool:
    fits = SHORTEST <= len(text) <= len(PLACEHOLDERS[name])
    return fits and PLAIN.fullmatch(text) is not None


def exchange(unit: UnitFace) -> dict[str, str]:
    """Placeholder → the unit's own text, as it is exchanged on the master of the unit's kind."""
    return {PLACEHOLDERS[name][: len(text)]: text for name, text in stamped(unit).items()}
