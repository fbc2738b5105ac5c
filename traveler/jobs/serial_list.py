"""A list of serials that somebody made: a line each, or a table with a column of that name."""

from __future__ import annotations

import csv
import io

from traveler.finding import Place
from traveler.jobs.cannot import CannotDo
from traveler.jobs.stop import Listed

HEAD = "serial"


def read_serials(content: bytes, file: str) -> tuple[Listed, ...]:
    """The serials of a list, each with its line: one a line, or the column ``serial`` of a table.

    Comma, semicolon or tab between columns; blank lines and lines that begin with ``#`` are passed over.

    Raises:
        CannotDo: it is no text in UTF-8, or there is no serial in it.
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        what = f"{file} is not text in UTF-8 (byte {problem.start + 1})"
        raise CannotDo(what, "save it as UTF-8") from problem
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if _says(line)]
    column, lines = _column(lines)
    found = tuple(
        Listed(cells[column], Place(file, number))
        for number, line in lines
        if column < len(cells := _cells(line)) and cells[column]
    )
    if not found:
        what = f"there is no serial in {file}"
        raise CannotDo(what, "write one in each line")
    return found


def _says(line: str) -> bool:
    return bool(line.strip()) and not line.lstrip().startswith("#")


def _column(lines: list[tuple[int, str]]) -> tuple[int, list[tuple[int, str]]]:
    """Which column holds the serials, and the lines below the head if there is one."""
    names = [name.lower() for name in _cells(lines[0][1])] if lines else []
    return (names.index(HEAD), lines[1:]) if HEAD in names else (0, lines)


def _cells(line: str) -> list[str]:
    mark = next((one for one in ("\t", ";", ",") if one in line), ",")
    cells = next(csv.reader(io.StringIO(line), delimiter=mark), [])
    return [cell.strip() for cell in cells]
