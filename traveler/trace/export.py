"""The records as tables for other tools: one table as CSV, or all of them in a SQLite file."""

from __future__ import annotations

import csv
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO

from traveler.files import CSV_MARK, csv_cell, replacing
from traveler.finding import CannotDo
from traveler.record.plans import Plans
from traveler.record.records import Records, Unit
from traveler.record.stored import time_text
from traveler.result import Result
from traveler.shop.session import Session
from traveler.trace.export_tables import (
    BY_NAME,
    FINDINGS,
    NEEDED,
    TABLES,
    VIEWS,
    ExportCell,
    ExportRow,
    ExportTable,
    Kind,
    finding_rows,
    unit_rows,
)
from traveler.trace.judging import judge
from traveler.trace.queries import (
    Progress,
    UnitFilter,
    count_issued,
    entries_of,
    no_progress,
    unit_batches,
)
from traveler.trace.stats.product_report import weigher_of


class CsvFile:
    """A CSV being written: the header at once, then rows as they come. Memory does not grow."""

    def __init__(self, path: Path, table: ExportTable) -> None:
        self._file: IO[str] = path.open("w", encoding="utf-8", newline="")
        self._file.write(CSV_MARK)
        self._writer = csv.writer(self._file, lineterminator="\r\n")
        self._writer.writerow(table.names)

    def add(self, table: ExportTable, rows: Iterable[Sequence[ExportCell]]) -> None:  # noqa: ARG002 - one table only
        """Write these rows."""
        self._writer.writerows([csv_cell(cell) for cell in row] for row in rows)

    def finish(self) -> None:
        """Write what is left."""
        self._file.flush()

    def close(self) -> None:
        """Close the file."""
        self._file.close()


def refuse_foreign_csv(path: Path, table: ExportTable) -> None:
    """Nothing, if the file is not there or is an export of this table.

    Raises:
        CannotDo: it is something else and would be lost.
    """
    if not path.exists():
        return
    with path.open("rb") as file:
        head = file.readline(4096)
    if head.decode("utf-8", "replace").strip(f"{CSV_MARK}\r\n") != ",".join(table.names):
        what = f"{path} is there already and is not an export of this table"
        raise CannotDo(what, "name another file")


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

    def add(self, table: ExportTable, rows: Iterable[Sequence[ExportCell]]) -> None:
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
        what = f"{path} is there already and is not an export"
        raise CannotDo(what, "name another file")


KINDS = (".csv", ".sqlite")


@dataclass(frozen=True, slots=True)
class ExportRequest:
    """What is exported: which product (None: all), done since when; ``table`` is for a CSV.

    ``findings``: judge every unit, so that the table of findings is filled.
    """

    to: Path
    product: str | None = None
    since: datetime | None = None
    table: str = "readings"
    findings: bool = False


@dataclass(frozen=True, slots=True)
class Exported(Result):
    """The file, how many units were looked at, and the rows in each table."""

    file: Path
    units: int
    rows: dict[str, int]


def export_readings(session: Session, wanted: ExportRequest, progress: Progress = no_progress) -> Exported:
    """Writes the file; one of an earlier export is replaced, anything else is left alone.

    Raises:
        CannotDo: the name ends in neither .csv nor .sqlite, no such table or product, or a file there is no
            export.
        OSError: the file cannot be written; nothing is left of it then.
        StoreDamaged: an entry or definition cannot be read.
    """
    chosen = _chosen(wanted)
    counts = {table.name: 0 for table in chosen}
    units = 0
    with session.store.reading() as records, replacing(wanted.to) as temporary:
        total = count_issued(records, UnitFilter(wanted.product))
        out = CsvFile(temporary, chosen[0]) if wanted.to.suffix == ".csv" else SqliteFile(temporary)
        try:
            for rows in progress(_rows(session, records, wanted), total):
                units += 1
                for table in chosen:
                    out.add(table, rows[table.name])
                    counts[table.name] += len(rows[table.name])
            out.finish()
        finally:
            out.close()
    return Exported(wanted.to, units, counts)


def _chosen(wanted: ExportRequest) -> tuple[ExportTable, ...]:
    """The tables that are written.

    Raises:
        CannotDo: as in :func:`export_readings`.
    """
    kind = wanted.to.suffix
    if kind not in KINDS:
        what = f"{wanted.to.name} is neither a CSV nor a SQLite file"
        raise CannotDo(what, "end its name in .csv or .sqlite")
    if wanted.table not in BY_NAME:
        what = f"there is no table '{wanted.table}'"
        raise CannotDo(what, f"there is {', '.join(BY_NAME)}")
    if kind == ".csv":
        refuse_foreign_csv(wanted.to, BY_NAME[wanted.table])
        return (BY_NAME[wanted.table],)
    refuse_foreign_sqlite(wanted.to)
    return TABLES


def _rows(session: Session, records: Records, wanted: ExportRequest) -> Iterator[dict[str, list[ExportRow]]]:
    weigher, plans = weigher_of(session), Plans(records)
    judged = wanted.findings or (wanted.to.suffix == ".csv" and wanted.table == FINDINGS.name)
    for piece in unit_batches(records, UnitFilter(wanted.product)):
        for unit, entries in entries_of(records, piece, kinds=NEEDED):
            rows = unit_rows(unit, plans.plan(unit, entries), entries, weigher)
            if wanted.since is not None:
                rows = _later(rows, time_text(wanted.since))
            rows[FINDINGS.name] = _findings(session, records, unit) if judged else []
            yield rows


def _findings(session: Session, records: Records, unit: Unit) -> list[ExportRow]:
    return list(finding_rows(unit, judge(session, records, unit.serial).verdict.findings))


def _later(rows: dict[str, list[ExportRow]], since: str) -> dict[str, list[ExportRow]]:
    """Only what was done since then; units and findings are always whole."""
    kept = {}
    for name, lines in rows.items():
        columns = BY_NAME[name].names
        at = columns.index("at") if "at" in columns else None
        kept[name] = lines if at is None else [row for row in lines if str(row[at]) >= since]
    return kept
