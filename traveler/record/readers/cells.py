"""What a results file holds, before it is compared with a plan: texts with their places."""

from __future__ import annotations

import codecs
import re
import unicodedata
from collections.abc import Container
from dataclasses import dataclass, field
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from traveler.finding import Finding, Place, Weight
from traveler.record.entry import Source
from traveler.text import DoubtfulHour, NotUnderstood, read_moment

HEAD = ("serial", "revision", "digest", "by", "at")
"""What a file says once for all its rows."""

FIELDS = ("slot", "value", "unit", "gauge", "by", "at", "as_found", "note")
"""What a row may say."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A text as somebody wrote it, and where."""

    text: str
    place: Place


@dataclass(frozen=True, slots=True)
class ResultRow:
    """One result. ``said`` maps a name of :data:`FIELDS` to what is written; blanks are not in it.

    ``printed_unit``: the unit stands printed beside the box, so a number alone is a reading in it.
    """

    slot: Cell
    said: dict[str, Cell] = field(default_factory=dict)
    printed_unit: bool = False


@dataclass(frozen=True, slots=True)
class FreeLine:
    """A free line of a sheet: a stop noted by hand, or a spare line."""

    text: Cell
    stops: bool = False
    said: dict[str, Cell] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Results:
    """A file as read. ``digest`` is the SHA-256 of its bytes; with blocking findings nothing of it counts."""

    file: str
    source: Source
    digest: str
    head: dict[str, Cell] = field(default_factory=dict)
    rows: tuple[ResultRow, ...] = ()
    remarks: tuple[FreeLine, ...] = ()
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
    """The first character that is not text (a control character, half a pair), or None."""
    return next(
        (sign for sign in text if unicodedata.category(sign) in ("Cc", "Cs") and sign not in "\t\n\r"), None
    )


def say(
    code: str,
    at: Cell | Place,
    what: str,
    hint: str = "",
    *,
    weight: Weight = Weight.BLOCKING,
) -> Finding:
    """A finding at a place in a file; a box of a sheet, which has no line, is named in the sentence."""
    place = at.place if isinstance(at, Cell) else at
    if place.line is None and place.slot is not None:
        what = f"box {place.slot}: {what}"
    return Finding(code, what, place, weight, hint=hint)


_MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_HINT = "save it as 'CSV UTF-8', or as plain text in UTF-8"


def decode(content: bytes, file: str, largest: int) -> str | Finding:
    """The text of a file.

    Findings: RES001 not text in UTF-8 (with line and column of the first byte that is not), RES002 too large.
    """
    if len(content) > largest:
        what = f"the file has {len(content):,} bytes, at most {largest:,} are allowed"
        return Finding("RES002", what, Place(file, 1, 1), hint="is this the right file?")
    name = next((name for mark, name in _MARKS if content.startswith(mark)), "utf-8")
    try:
        return content.decode(name)
    except UnicodeDecodeError as problem:
        before = content[: problem.start].decode(name, errors="replace")
        line, column = before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1
        what = f"byte {content[problem.start]:#04x} is not text in {name.removesuffix('-sig').upper()}"
        return Finding("RES001", what, Place(file, line, column), hint=_HINT)


_MONTHS = (
    ("jan", "ene"), ("feb",), ("mar",), ("apr", "abr"), ("may",), ("jun",), ("jul",), ("aug", "ago"),
    ("sep",), ("oct",), ("nov",), ("dec", "dic"),
)  # fmt: skip
_NUMBER = {name: str(number) for number, names in enumerate(_MONTHS, 1) for name in names}
_DATE = re.compile(r"([0-9]{1,2})-([a-z]{3})\.?|([a-z]{3})\.?-([0-9]{1,2})", re.IGNORECASE)


def slot_of_date(text: str, slots: Container[str]) -> str | None:
    """The one slot that a spreadsheet shows as this date; None if there is none, or more than one.

    >>> slot_of_date("10-Jan", {"10-1", "10-2"})
    '10-1'
    """
    found = _DATE.fullmatch(text)
    if found is None:
        return None
    day, month = found[1] or found[4], _NUMBER.get((found[2] or found[3]).lower())
    if month is None:
        return None
    number = str(int(day))
    fits = {name for name in (f"{number}-{month}", f"{month}-{number}") if name in slots}
    return fits.pop() if len(fits) == 1 else None


YES = frozenset({
    "yes", "y", "x", "ok", "okay", "on", "true", "done", "ticked", "checked",
    "✓", "✔", "☑", "☒", "✗", "✘", "×",
    "sí", "si", "s", "hecho", "verdadero", "correcto",
})  # fmt: skip
"""A mark of any shape in a box is a tick, a cross too."""

NO = frozenset({"no", "n", "off", "false", "not done", "☐", "-", "–", "—", "falso", "no hecho"})


def tick(text: str) -> bool | None:
    """True for a tick, False for a word that says there is none, None for anything else.

    >>> tick("Sí"), tick("no"), tick("0.05")
    (True, False, None)
    """
    word = text.strip().casefold().rstrip(".!")
    if word in YES or text.strip() in YES:
        return True
    return False if word in NO or text.strip() in NO else None


def read_time(cell: Cell, zone: ZoneInfo) -> datetime | Finding:
    """The moment in UTC.

    Findings: RES020 not a date with a time of day, RES021 an hour that a change of clocks skips or repeats.
    """
    try:
        return read_moment(cell.text, zone).astimezone(UTC)
    except DoubtfulHour as problem:
        return say("RES021", cell, problem.what, problem.hint)
    except NotUnderstood as problem:
        return say("RES020", cell, problem.what, problem.hint)
