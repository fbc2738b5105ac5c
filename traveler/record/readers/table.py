"""Tables as spreadsheets save them: text with comma, semicolon or tab between cells.

UTF-8 or UTF-16 with its mark, with or without quotation marks. Lines that begin with ``#`` stand above the
table (``# serial: …``) or are remarks; the first other row names the columns. Places are line and cell:
``results.csv:14:4`` is the fourth cell of the row that starts in line 14.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, field

from traveler.finding import Finding, Place
from traveler.record.readers.cells import Cell, clean, decode, say, stray
from traveler.text import did_you_mean

LARGEST = 5_000_000
"""Bytes of a file."""

_SEPARATORS = (",", ";", "\t")


@dataclass(frozen=True, slots=True)
class TableForm:
    """What a table may hold: its columns, those it must have, and names of head lines.

    ``codes`` are those of the findings: no table, a column, a cell too many, a character that is not
    allowed, a head line given twice. ``hint`` says how to name the columns.
    """

    columns: tuple[str, ...]
    needed: tuple[str, ...]
    head: tuple[str, ...]
    codes: tuple[str, str, str, str, str]
    hint: str


@dataclass(slots=True)
class Table:
    """A table as read: head lines, column names, and each row as its line and its cells by column.

    Blank cells are left out. With a finding the table is not to be used.
    """

    file: str
    form: TableForm
    head: dict[str, Cell] = field(default_factory=dict)
    columns: list[str] = field(default_factory=list)
    rows: list[tuple[int, dict[str, Cell]]] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    def place(self, line: int, column: str) -> Place:
        """Where the cell of a column stands in a row."""
        return Place(self.file, line, self.columns.index(column) + 1)


def read_table(content: bytes, file: str, form: TableForm) -> Table:
    """What the table holds, and everything that is wrong with its form.

    Findings: RES001, RES002 (encoding, size) and the codes of the form.
    """
    table = Table(file, form)
    text = decode(content, file, LARGEST)
    if isinstance(text, Finding):
        table.findings.append(text)
        return table
    for line, cells in _lines(table, text):
        if cells[0].startswith("#"):
            _head(table, line, cells[0])
        elif not table.columns:
            _columns(table, line, cells)
        else:
            _row(table, line, cells)
    if not table.columns and not table.findings:
        hint = f"the first row after the # lines names the columns: {', '.join(form.columns)}"
        table.findings.append(say(form.codes[0], Place(file, 1, 1), "there is no table in this file", hint))
    return table


class BrokenTable(Exception):
    """A row that cannot be split into cells: what is wrong, and its line."""

    def __init__(self, what: str, line: int) -> None:
        super().__init__(what)
        self.what, self.line = what, line
        self.hint = "a quotation mark is not closed, or stands inside a text without being doubled"


def table_lines(text: str, column: str) -> Iterator[tuple[int, list[str]]]:
    """Rows that are not blank, cleaned, each with the line it starts in; ``column`` tells the separator.

    Raises:
        BrokenTable: a quotation mark is not closed, or stands inside a text.
    """
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_separator(text, column), strict=True)
    line = 1
    try:
        for row in reader:
            cells = [clean(cell) for cell in row]
            if any(cells):
                yield line, cells
            line = reader.line_num + 1
    except csv.Error as problem:
        raise BrokenTable(f"the table breaks off here: {problem}", line) from problem


def _separator(text: str, column: str) -> str:
    """Whichever splits off this column in the row of column names, else the first that is there."""
    lines = (line.strip().lower() for line in text.splitlines())
    names = next((line for line in lines if line and not line.lstrip('"').startswith("#")), "")
    there = [sign for sign in _SEPARATORS if sign in names]
    named = [sign for sign in there if column in [cell.strip(' "') for cell in names.split(sign)]]
    return next(iter((*named, *there)), ",")


def _lines(table: Table, text: str) -> Iterator[tuple[int, list[str]]]:
    try:
        yield from table_lines(text, table.form.needed[0])
    except BrokenTable as broken:
        place = Place(table.file, broken.line, 1)
        table.findings.append(say(table.form.codes[0], place, broken.what, broken.hint))


def _head(table: Table, line: int, cell: str) -> None:
    name, _, value = cell.lstrip("# ").partition(":")
    name, given = name.strip().lower(), Cell(clean(value), Place(table.file, line, 1))
    if table.columns or name not in table.form.head or not given.text:
        return
    if table.head.setdefault(name, given).text != given.text:
        what = f"'{name}' is given twice, with different values"
        table.findings.append(say(table.form.codes[4], given, what, "keep one"))


def _columns(table: Table, line: int, cells: list[str]) -> None:
    form, names = table.form, ["_".join(cell.lower().split()) for cell in cells]
    table.columns = names
    for number, name in enumerate(names, 1):
        place = Place(table.file, line, number)
        if name and name not in form.columns:
            what = f"there is no column '{name[:80]}'"
            table.findings.append(say(form.codes[1], place, what, did_you_mean(name, form.columns)))
        elif name and name in names[: number - 1]:
            what = f"the column '{name}' is there twice"
            table.findings.append(say(form.codes[1], place, what, "keep one"))
    for name in form.needed:
        if name not in names:
            what = f"there is no column '{name}'"
            table.findings.append(say(form.codes[1], Place(table.file, line, 1), what, form.hint))


def _row(table: Table, line: int, cells: list[str]) -> None:
    row: dict[str, Cell] = {}
    for number, text in enumerate(cells, 1):
        name = table.columns[number - 1] if number <= len(table.columns) else ""
        cell = Cell(text, Place(table.file, line, number))
        if not text:
            continue
        if not name:
            what = f"'{text[:40]}' stands in a cell without a column"
            hint = "put a text that holds the separator in quotation marks"
            table.findings.append(say(table.form.codes[2], cell, what, hint))
        elif (sign := stray(text)) is not None:
            what = f"{name} holds the character U+{ord(sign):04X}, which is not allowed"
            table.findings.append(say(table.form.codes[3], cell, what, "delete it"))
        else:
            row.setdefault(name, cell)
    table.rows.append((line, row))
