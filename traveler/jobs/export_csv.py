"""A table as CSV (RFC 4180) that no spreadsheet takes for a program."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import IO

from traveler.jobs.cannot import CannotDo
from traveler.trace.exports.rows import Cell
from traveler.trace.exports.tables import ExportTable

MARK = "\ufeff"
"""So that spreadsheets read µ and Ω right."""
_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_FORMULA = re.compile(r"\s*[=+\-@\t\r\n＝＋－＠]")


class CsvFile:
    """A CSV being written: the header at once, then rows as they come. Memory does not grow."""

    def __init__(self, path: Path, table: ExportTable) -> None:
        self._file: IO[str] = path.open("w", encoding="utf-8", newline="")
        self._file.write(MARK)
        self._writer = csv.writer(self._file, lineterminator="\r\n")
        self._writer.writerow(table.names)

    def add(self, table: ExportTable, rows: Iterable[Sequence[Cell]]) -> None:  # noqa: ARG002 - one table only
        """Write these rows."""
        self._writer.writerows([cell_text(cell) for cell in row] for row in rows)

    def finish(self) -> None:
        """Write what is left."""
        self._file.flush()

    def close(self) -> None:
        """Close the file."""
        self._file.close()


def cell_text(cell: Cell) -> str:
    """The cell as text; an apostrophe in front of what a spreadsheet would take for a formula.

    Numbers stay as they are, below zero too.

    >>> cell_text("-0.05"), cell_text("=1+1"), cell_text(None)
    ('-0.05', "'=1+1", '')
    """
    if cell is None:
        return ""
    text = str(cell)
    if _FORMULA.match(text) and not _NUMBER.fullmatch(text):
        return f"'{text}"
    return text


def refuse_foreign_csv(path: Path, table: ExportTable) -> None:
    """Nothing, if the file is not there or is an export of this table.

    Raises:
        CannotDo: it is something else and would be lost.
    """
    if not path.exists():
        return
    with path.open("rb") as file:
        head = file.readline(4096)
    if head.decode("utf-8", "replace").strip("\ufeff\r\n") != ",".join(table.names):
        what = f"{path} is there already and is no export of this table"
        raise CannotDo(what, "name another file")
