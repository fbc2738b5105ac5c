"""Results from a CSV file as spreadsheets save it.

Comma, semicolon or tab; with or without a byte order mark; head lines ``# serial: …`` above the row of column
names. Places are line and cell: ``results.csv:14:4`` is the fourth cell of the row that starts in line 14.
"""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterator
from difflib import get_close_matches

from traveler.finding import Finding, Place
from traveler.record.readers.encoding import decode
from traveler.record.readers.written import FIELDS, HEAD, Results, Row, Written, clean, say, stray

LARGEST = 5_000_000
"""Bytes of a file."""

COLUMNS = ("slot", "label", "limits", "value", "unit", "gauge", "by", "at", "as_found", "note")
"""Columns of a blank; ``label`` and ``limits`` are for the reader's eyes and not read back."""

_NEEDED = ("slot", "value")
Cells = tuple[int, list[str]]


def read_csv(content: bytes, file: str) -> Results:
    """What the file says, and everything that is wrong with its form.

    Findings: RES001, RES002 (encoding, size), RES003 not a table, RES004 column unknown, missing or given
    twice, RES005 more cells than columns, RES006 a character that is no text, RES007 head line given twice.
    """
    digest = hashlib.sha256(content).hexdigest()
    text = decode(content, file, LARGEST)
    if isinstance(text, Finding):
        return Results(file, "file", digest, findings=(text,))
    findings: list[Finding] = []
    records = _records(text, file, findings)
    head, columns = _top(records, file, findings)
    rows = tuple(_rows(records, columns, file, findings)) if columns else ()
    return Results(file, "file", digest, head, rows, findings=tuple(findings))


def _records(text: str, file: str, findings: list[Finding]) -> Iterator[Cells]:
    """Rows that are not blank, each with the line it starts in; a broken one ends the file with RES003."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    line = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as problem:
            hint = "a quotation mark is not closed, or stands inside a text without being doubled"
            findings.append(
                say("RES003", Place(file, line, 1), f"the table breaks off here: {problem}", hint)
            )
            return
        if any(cell.strip() for cell in cells):
            yield line, cells
        line = reader.line_num + 1


def _delimiter(text: str) -> str:
    """Whichever of comma, semicolon and tab splits off a column 'slot' in the row of column names."""
    for line in text.splitlines()[:200]:
        names = line.strip().lower()
        if names and not names.lstrip('"').startswith("#"):
            for sign in (",", ";", "\t"):
                if "slot" in [cell.strip(' "') for cell in names.split(sign)] and sign in names:
                    return sign
            break
    return ","


def _top(
    records: Iterator[Cells], file: str, findings: list[Finding]
) -> tuple[dict[str, Written], list[str]]:
    """The head lines, and the column names ("" for a column that is not read)."""
    head: dict[str, Written] = {}
    for line, cells in records:
        if not clean(cells[0]).startswith("#"):
            return head, _columns(line, cells, file, findings)
        name, colon, value = clean(cells[0]).lstrip("# ").partition(":")
        name, said = name.strip().lower(), Written(clean(value), Place(file, line, 1))
        if not colon or name not in HEAD or not said.text:
            continue
        if name in head and head[name].text != said.text:
            findings.append(
                say("RES007", said, f"'{name}' is given twice, with different values", "keep one")
            )
        head.setdefault(name, said)
    if not findings:
        hint = f"the first row after the # lines names the columns: {', '.join(COLUMNS)}"
        findings.append(say("RES003", Place(file, 1, 1), "there is no table in this file", hint))
    return head, []


def _columns(line: int, cells: list[str], file: str, findings: list[Finding]) -> list[str]:
    names = ["_".join(clean(cell).lower().split()) for cell in cells]
    for number, name in enumerate(names, 1):
        place = Place(file, line, number)
        if name and name not in COLUMNS:
            close = get_close_matches(name, COLUMNS, n=1)
            hint = f"did you mean {close[0]}?" if close else f"columns are: {', '.join(COLUMNS)}"
            findings.append(say("RES004", place, f"there is no column '{name[:80]}'", hint))
        elif name and name in names[: number - 1]:
            findings.append(say("RES004", place, f"the column '{name}' is there twice", "keep one"))
    for needed in _NEEDED:
        if needed not in names:
            hint = "name the columns in the first row; 'traveler blank' writes a file to fill in"
            findings.append(say("RES004", Place(file, line, 1), f"there is no column '{needed}'", hint))
    return names


def _rows(records: Iterator[Cells], columns: list[str], file: str, findings: list[Finding]) -> Iterator[Row]:
    for line, cells in records:
        if clean(cells[0]).startswith("#"):
            continue
        said: dict[str, Written] = {}
        for number, cell in enumerate(cells, 1):
            written = Written(clean(cell), Place(file, line, number))
            if not written.text:
                continue
            name = columns[number - 1] if number <= len(columns) else ""
            if not name:
                what = f"'{written.text[:40]}' stands in a cell without a column"
                hint = "put a text that holds the separator in quotation marks"
                findings.append(say("RES005", written, what, hint))
            elif (sign := stray(written.text)) is not None:
                what = f"{name} holds the character U+{ord(sign):04X}, which is no text"
                findings.append(say("RES006", written, what, "delete it"))
            elif name in FIELDS:
                said.setdefault(name, written)
        slot = said.pop("slot", Written("", Place(file, line, 1)))
        if slot.text or said:
            yield Row(slot, said)
