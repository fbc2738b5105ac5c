"""The file of a gauge study: a table of part, operator, trial and value, as spreadsheets save it.

Comma, semicolon or tab. The unit stands with each value, in a column ``unit``, in a line ``# unit: mm``
above the table, or is told by the caller. Places are line and cell: ``study.csv:14:4`` is the fourth cell
of line 14.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from difflib import get_close_matches

from traveler.finding import Finding, Place
from traveler.measure.quantity import Quantity, parse_quantity
from traveler.measure.study_design import Measured
from traveler.measure.unreadable import Unreadable
from traveler.record.readers.encoding import decode

LARGEST = 5_000_000
"""Bytes of a file."""

NEEDED = ("part", "operator", "trial", "value")
COLUMNS = (*NEEDED, "unit", "note")
Cells = tuple[int, list[str]]


@dataclass(frozen=True, slots=True)
class StudyFile:
    """What was read: values in ``unit``, the most decimals among them, and everything wrong with the file."""

    readings: tuple[Measured, ...] = ()
    unit: str = ""
    decimals: int = 0
    findings: tuple[Finding, ...] = ()


@dataclass
class _Reading:
    """A file while it is read."""

    file: str
    unit: str | None
    findings: list[Finding] = field(default_factory=list)
    columns: list[str] = field(default_factory=list)
    rows: list[tuple[int, tuple[str, str, str], Quantity]] = field(default_factory=list)
    without_unit: list[int] = field(default_factory=list)

    def say(self, code: str, line: int, cell: int | None, what: str, hint: str = "") -> None:
        self.findings.append(Finding(code, what, Place(self.file, line, cell), hint=hint))


def read_study(content: bytes, file: str, unit: str | None = None) -> StudyFile:
    """The readings of a study, and every problem of its file.

    Findings: RES001, RES002 encoding and size; STU001 no table, or a column unknown, missing or given twice;
    STU002 a value not understood; STU003 unit missing; STU004 an empty or surplus cell; STU007 a reading
    given twice; STU008 another dimension than the first value.
    """
    text = decode(content, file, LARGEST)
    if isinstance(text, Finding):
        return StudyFile(findings=(text,))
    reading = _Reading(file, unit)
    for line, cells in _records(text, reading):
        if cells[0].lstrip("\ufeff ").startswith("#"):
            _head(reading, cells[0])
        elif not reading.columns:
            _columns(reading, line, cells)
        elif "value" in reading.columns:
            _row(reading, line, cells)
    return _closed(reading)


def _records(text: str, reading: _Reading) -> Iterator[Cells]:
    """Rows that are not blank, each with the line it starts in; a broken one ends the file."""
    table = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    line = 1
    try:
        for cells in table:
            if any(cell.strip() for cell in cells):
                yield line, [" ".join(cell.split()) for cell in cells]
            line = table.line_num + 1
    except csv.Error as problem:
        reading.say("STU001", line, None, f"the table breaks off here: {problem}", "close the quotation mark")


def _delimiter(text: str) -> str:
    """Whichever of comma, semicolon and tab splits off a column 'part' in the row of column names."""
    lines = (
        line.casefold() for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")
    )
    names = next(lines, "")
    for sign in (",", ";", "\t"):
        if "part" in [cell.strip(' "\ufeff') for cell in names.split(sign)]:
            return sign
    return ","


def _head(reading: _Reading, cell: str) -> None:
    """``# unit: mm``; the caller's unit goes before it, other lines are remarks."""
    name, colon, value = cell.lstrip("\ufeff# ").partition(":")
    if colon and name.strip().casefold() == "unit" and value.strip() and reading.unit is None:
        reading.unit = value.strip()


def _columns(reading: _Reading, line: int, cells: list[str]) -> None:
    reading.columns = ["_".join(cell.casefold().strip("\ufeff").split()) for cell in cells]
    for number, name in enumerate(reading.columns, 1):
        if name and name not in COLUMNS:
            near = get_close_matches(name, COLUMNS, n=1)
            hint = f"did you mean {near[0]}?" if near else f"columns are: {', '.join(COLUMNS)}"
            reading.say("STU001", line, number, f"there is no column '{name[:40]}'", hint)
        elif name and name in reading.columns[: number - 1]:
            reading.say("STU001", line, number, f"the column '{name}' is there twice", "keep one")
    for name in NEEDED:
        if name not in reading.columns:
            reading.say("STU001", line, None, f"there is no column '{name}'", f"name it: {', '.join(NEEDED)}")


def _row(reading: _Reading, line: int, cells: list[str]) -> None:
    for number, cell in enumerate(cells[len(reading.columns) :], len(reading.columns) + 1):
        if cell:
            reading.say("STU004", line, number, f"'{cell[:40]}' stands in a cell without a column")
    said = dict(zip(reading.columns, cells, strict=False))
    empty = [name for name in NEEDED if name in reading.columns and not said.get(name)]
    for name in empty:
        reading.say("STU004", line, reading.columns.index(name) + 1, f"{name} is empty", "fill it in")
    if empty or not set(NEEDED) <= set(reading.columns):
        return
    value = _value(reading, line, said["value"], said.get("unit") or reading.unit)
    if value is not None:
        reading.rows.append((line, (said["part"], said["operator"], said["trial"]), value))


def _value(reading: _Reading, line: int, text: str, unit: str | None) -> Quantity | None:
    try:
        return parse_quantity(text, unit)
    except Unreadable as problem:
        if problem.code == "UNT001":
            reading.without_unit.append(line)
        else:
            place = reading.columns.index("value") + 1
            reading.say("STU002", line, place, f"value {text[:40]!r}: {problem.what}", problem.hint)
        return None


def _closed(reading: _Reading) -> StudyFile:
    """The file, with what can only be said once all of it is known."""
    if not reading.columns and not reading.findings:
        reading.say(
            "STU001", 1, None, "there is no table in this file", f"name the columns: {', '.join(NEEDED)}"
        )
    if reading.without_unit:
        line, count = reading.without_unit[0], len(reading.without_unit)
        what = f"{count} value{'s have' if count > 1 else ' has'} no unit, the first in this line"
        hint = "add a column unit, a line '# unit: mm' above the table, or --unit mm"
        reading.say("STU003", line, reading.columns.index("value") + 1, what, hint)
    readings = tuple(_measured(reading))
    unit = reading.rows[0][2].unit if reading.rows else ""
    decimals = max((value.decimals for _, _, value in reading.rows), default=0)
    return StudyFile(readings, unit, decimals, tuple(reading.findings))


def _measured(reading: _Reading) -> Iterator[Measured]:
    seen: dict[tuple[str, str, str], int] = {}
    for line, (part, operator, trial), value in reading.rows:
        first = seen.setdefault((part, operator, trial), line)
        if first != line:
            what = f"trial {trial} of part {part} by {operator} is there already, in line {first}"
            reading.say("STU007", line, None, what, "give each trial its own number")
            continue
        try:
            yield Measured(part, operator, trial, value.to(reading.rows[0][2].unit).value)
        except Unreadable as problem:
            place = reading.columns.index("value") + 1
            reading.say("STU008", line, place, f"value {value.written!r}: {problem.what}", problem.hint)
