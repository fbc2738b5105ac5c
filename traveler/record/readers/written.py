"""What a results file says, before it is compared with a plan: texts with their places."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, field

from traveler.finding import Finding, Place, Weight
from traveler.record.entry import Source

HEAD = ("serial", "revision", "digest", "by", "at")
"""What a file says once for all its rows."""

FIELDS = ("slot", "value", "unit", "gauge", "by", "at", "as_found", "note")
"""What a row may say."""


@dataclass(frozen=True, slots=True)
class Written:
    """A text as somebody wrote it, and where."""

    text: str
    place: Place


@dataclass(frozen=True, slots=True)
class Row:
    """One result. ``said`` maps a name of :data:`FIELDS` to what is written; blanks are not in it.

    ``printed_unit``: the unit stands printed beside the box, so a number alone is a reading in it.
    """

    slot: Written
    said: dict[str, Written] = field(default_factory=dict)
    printed_unit: bool = False


@dataclass(frozen=True, slots=True)
class Remark:
    """A free line of a sheet: a stop noted by hand, or a spare line."""

    text: Written
    stops: bool = False
    said: dict[str, Written] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Results:
    """A file as read. ``digest`` is the SHA-256 of its bytes; with blocking findings nothing of it counts."""

    file: str
    source: Source
    digest: str
    head: dict[str, Written] = field(default_factory=dict)
    rows: tuple[Row, ...] = ()
    remarks: tuple[Remark, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def serial(self) -> str | None:
        """The serial the file names, or None."""
        return self.head["serial"].text if "serial" in self.head else None


def clean(text: str) -> str:
    """The text in one Unicode form, without spaces around it, and without a spreadsheet's mark for text.

    >>> clean(" '=5 mm ")
    '=5 mm'
    """
    plain = unicodedata.normalize("NFC", text).strip()
    return plain[1:].lstrip() if plain.startswith("'") and len(plain) > 1 else plain


def stray(text: str) -> str | None:
    """The first character that is no text (a control character, half a pair), or None."""
    return next(
        (sign for sign in text if unicodedata.category(sign) in ("Cc", "Cs") and sign not in "\t\n\r"), None
    )


def say(
    code: str,
    at: Written | Place,
    what: str,
    hint: str = "",
    *,
    why: str = "",
    weight: Weight = Weight.BLOCKING,
) -> Finding:
    """A finding at a place in a file; a box of a sheet, which has no line, is named in the sentence."""
    place = at.place if isinstance(at, Written) else at
    if place.line is None and place.slot is not None:
        what = f"box {place.slot}: {what}"
    return Finding(code, what, place, weight, why=why, hint=hint)
