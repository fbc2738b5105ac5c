"""All tables and views in one SQLite file."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from pathlib import Path

from traveler.jobs.cannot import CannotDo
from traveler.trace.exports.rows import Cell
from traveler.trace.exports.tables import TABLES, VIEWS, ExportTable, Kind

APPLICATION = 0x54524C45
"""The file's application id, by which an export is known again."""
FORMAT = 1
"""Written as ``user_version``; raised when a column changes its meaning or goes."""

_TYPES: dict[Kind, str] = {
    "text": "TEXT", "number": "TEXT", "count": "INTEGER", "yes": "INTEGER", "time": "TEXT",
}  # fmt: skip


class SqliteFile:
    """An export being written: rows as they come, indexes and views at the end."""

    def __init__(self, path: Path) -> None:
        self._connection = sqlite3.connect(path, isolation_level=None)
        for setting in ("journal_mode=OFF", "synchronous=OFF", f"application_id={APPLICATION}"):
            self._connection.execute(f"PRAGMA {setting}")
        self._connection.execute(f"PRAGMA user_version={FORMAT}")
        for table in TABLES:
            self._connection.execute(_create(table))
        self._connection.execute('CREATE TABLE "columns" ("table" TEXT, "column" TEXT, "says" TEXT)')
        self._connection.executemany(
            'INSERT INTO "columns" VALUES (?, ?, ?)',
            [(table.name, column.name, column.says) for table in TABLES for column in table.columns],
        )
        self._connection.execute("BEGIN")

    def add(self, table: ExportTable, rows: Iterable[Sequence[Cell]]) -> None:
        """Write these rows."""
        marks = ", ".join("?" * len(table.columns))
        self._connection.executemany(f'INSERT INTO "{table.name}" VALUES ({marks})', rows)  # noqa: S608 - our own names

    def finish(self) -> None:
        """Commit, lay indexes, add the views."""
        self._connection.execute("COMMIT")
        for table in TABLES:
            if table.key:
                columns = ", ".join(f'"{name}"' for name in table.key)
                self._connection.execute(
                    f'CREATE UNIQUE INDEX "{table.name}_key" ON "{table.name}" ({columns})'
                )
        self._connection.execute(
            'CREATE INDEX "readings_check" ON "readings" ("product", "check_name", "at")'
        )
        self._connection.execute('CREATE INDEX "fitted_value" ON "fitted" ("value")')
        for name, (_, select) in VIEWS.items():
            self._connection.execute(f'CREATE VIEW "{name}" AS {select}')

    def close(self) -> None:
        """Close the file."""
        self._connection.close()


def _create(table: ExportTable) -> str:
    columns = ", ".join(f'"{column.name}" {_TYPES[column.kind]}' for column in table.columns)
    return f'CREATE TABLE "{table.name}" ({columns})'


def refuse_foreign_sqlite(path: Path) -> None:
    """Nothing, if the file is not there or is an export.

    Raises:
        CannotDo: it is something else, perhaps the records themselves, and would be lost.
    """
    if not path.exists() or path.stat().st_size == 0:
        return
    with path.open("rb") as file:
        head = file.read(72)
    if not head.startswith(b"SQLite format 3\x00") or int.from_bytes(head[68:72], "big") != APPLICATION:
        what = f"{path} is there already and is no export"
        raise CannotDo(what, "name another file")
