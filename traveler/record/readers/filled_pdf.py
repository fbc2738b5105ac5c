"""Results from a filled traveler: the values of its form fields, never how they look.

A box is named after its slot; further boxes of a slot or step after what they hold: ``SLOT#found``,
``STEP#gauge``, ``STEP#by``, ``STEP#at``, ``OP/sign#at``, ``SLOT#rework``, ``SLOT#scrap``. Stops and spare
lines are ``stop#1-what`` and ``spare#1-what``. Serial, revision and digest stand in ``unit#…``.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterator
from typing import Any

from traveler.finding import Finding, Place, Weight
from traveler.record.readers.cells import HEAD, Cell, FreeLine, ResultRow, Results, clean, say, stray

_DEEPEST = 20
_MOST = 20_000
_VIEWER = "open it in a PDF viewer, save it again, and take that file"


def form_fields(content: bytes, file: str, largest: int) -> list[tuple[str, str]] | Finding:
    """(full name, value) of every field; a ticked box says ``on``, a blank one "".

    Findings: RES002 too large, RES010 not a PDF that can be read, RES011 no fields in it.
    """
    if len(content) > largest:
        what = f"the file has {len(content):,} bytes, at most {largest:,} are allowed"
        return Finding("RES002", what, Place(file), hint="is this the right file?")
    import pikepdf

    try:
        with pikepdf.open(io.BytesIO(content)) as pdf:
            form = pdf.Root.get("/AcroForm")
            found = list(_walk(form.get("/Fields"), "", 0, set())) if form is not None else []
    except pikepdf.PasswordError:
        return Finding("RES010", "the PDF is locked with a password", Place(file), hint="save it without one")
    except _Odd as problem:
        return Finding("RES010", f"the form {problem}", Place(file), hint=_VIEWER)
    except Exception as problem:  # noqa: BLE001 - a broken file can make the library raise anything
        first = next(iter(str(problem).splitlines()), type(problem).__name__)
        return Finding("RES010", f"this cannot be read as a PDF: {first[:200]}", Place(file), hint=_VIEWER)
    if not found:
        hint = "take the filled file itself, not a print or a scan of it"
        return Finding("RES011", "the PDF has no boxes to read", Place(file), hint=hint)
    return found


class _Odd(Exception):
    """The form is not one that people fill in."""


def _walk(fields: Any, above: str, depth: int, seen: set[tuple[int, int]]) -> Iterator[tuple[str, str]]:
    """Terminal fields below these; a widget without a name of its own belongs to its parent."""
    if fields is None:
        return
    if depth > _DEEPEST or len(fields) > _MOST:
        raise _Odd("is nested too deep" if depth > _DEEPEST else "has too many boxes")
    for field in fields:
        if "/T" not in field or field.objgen in seen:
            continue
        if field.is_indirect:
            seen.add(field.objgen)
        name = f"{above}.{field.T}" if above else str(field.T)
        kids = field.get("/Kids")
        if kids is not None and any("/T" in kid for kid in kids):
            yield from _walk(kids, name, depth + 1, seen)
        elif field.get("/FT") != "/Sig":
            yield name, _value(field.get("/V"))


def _value(value: Any) -> str:
    """A text as it is; of a tick box ``on``, whatever its state is called, or nothing for ``Off``."""
    import pikepdf

    if value is None:
        return ""
    if isinstance(value, pikepdf.Name):
        return "" if value == pikepdf.Name.Off else "on"
    if isinstance(value, pikepdf.Stream | pikepdf.Dictionary | pikepdf.Array):
        raise _Odd("holds something else than plain text")
    return str(value)


LARGEST = 60_000_000
"""Bytes of a file."""

_PARTS = ("found", "gauge", "by", "at", "rework", "scrap", "open")
Boxes = dict[str, Cell]


def read_pdf(content: bytes, file: str) -> Results:
    """What was filled in, and everything that is wrong with the file.

    Findings: RES002 too large, RES006 a character that is not allowed, RES010 the PDF cannot be read, RES011
    no boxes in it, RES012 two boxes of one name differ, RES013 a box of no sheet, RES014 initials where
    nothing is filled in (warning), RES015 something that is not taken over.
    """
    digest = hashlib.sha256(content).hexdigest()
    found = form_fields(content, file, LARGEST)
    if isinstance(found, Finding):
        return Results(file, "pdf", digest, findings=(found,))
    findings: list[Finding] = []
    boxes = _boxes(found, file, findings)
    head = {name: boxes[f"unit#{name}"] for name in HEAD if f"unit#{name}" in boxes}
    rows = tuple(_rows(boxes))
    findings += _idle(boxes, rows)
    return Results(file, "pdf", digest, head, rows, tuple(_remarks(boxes)), tuple(findings))


def _boxes(found: list[tuple[str, str]], file: str, findings: list[Finding]) -> Boxes:
    """Name → what is filled in; blank boxes are left out."""
    boxes: Boxes = {}
    for name, value in found:
        written = Cell(clean(value), Place(file, slot=name))
        if (sign := stray(name + value)) is not None:
            what = f"the character U+{ord(sign):04X} is not allowed"
            findings.append(say("RES006", written, what, "fill the box in again"))
        elif not _ours(name):
            findings.append(say("RES013", written, "no sheet has a box of this name", "is this a traveler?"))
        elif name in boxes and written.text and boxes[name].text != written.text:
            what = f"it is there twice, with '{boxes[name].text[:40]}' and '{written.text[:40]}'"
            findings.append(say("RES012", written, what, "fill the sheet in again with another program"))
        elif written.text:
            boxes[name] = written
    return boxes


def _ours(name: str) -> bool:
    slot, sign, part = name.partition("#")
    if slot in ("unit", "stop", "spare", "sheet") and sign:
        return True
    return bool(slot) and (not sign or part in _PARTS)


def _rows(boxes: Boxes) -> Iterator[ResultRow]:
    for name, written in boxes.items():
        slot, _, part = name.partition("#")
        if slot in ("unit", "stop", "spare", "sheet"):
            continue
        if part == "found":
            yield _row(slot, written, boxes, as_found=True)
        elif not part:
            yield _row(slot, _counted(slot, written, boxes), boxes)


def _row(slot: str, value: Cell, boxes: Boxes, *, as_found: bool = False) -> ResultRow:
    said = {"value": value}
    for name in ("gauge", "by", "at"):
        for base in (slot, slot.partition("/")[0]):
            if f"{base}#{name}" in boxes:
                said.setdefault(name, boxes[f"{base}#{name}"])
    if as_found:
        said["as_found"] = Cell("yes", value.place)
    return ResultRow(Cell(slot, value.place), said, printed_unit=True)


def _counted(slot: str, good: Cell, boxes: Boxes) -> Cell:
    """A count stands in up to three boxes; together they read ``12 good 1 rework 0 scrap``."""
    others = [
        f"{boxes[f'{slot}#{name}'].text} {name}" for name in ("rework", "scrap") if f"{slot}#{name}" in boxes
    ]
    return Cell(" ".join([f"{good.text} good", *others]), good.place) if others else good


def _remarks(boxes: Boxes) -> Iterator[FreeLine]:
    for name, written in boxes.items():
        base, _, part = name.partition("#")
        number, _, column = part.partition("-")
        if base in ("stop", "spare") and column == "what":
            said = {
                key: boxes[at]
                for key in ("step", "value", "by", "at")
                if (at := f"{base}#{number}-{key}") in boxes
            }
            if base == "stop":
                said.pop("by", None)  # the column is for who decided, which is an act of its own
            yield FreeLine(written, base == "stop", said)


def _idle(boxes: Boxes, rows: tuple[ResultRow, ...]) -> Iterator[Finding]:
    """Initials or a decision that come with nothing: told, since they are not taken over."""
    filled = {part for row in rows for part in (row.slot.text, row.slot.text.partition("/")[0])}
    for name, written in boxes.items():
        base, _, part = name.partition("#")
        if part == "by" and base not in filled:
            what = f"initials '{written.text[:40]}', but nothing is filled in"
            yield say("RES014", written, what, "tick or fill in what was done", weight=Weight.WARNING)
        elif part == "open" and written.text not in ("0", "-"):
            yield say(
                "RES015", written, f"'{written.text[:40]}' still open is not taken over", weight=Weight.NOTE
            )
        elif base == "stop" and part.endswith("-decided"):
            what = f"the decision '{written.text[:60]}' is not taken over from a sheet"
            yield say("RES015", written, what, "record it as a decision", weight=Weight.WARNING)
