"""The records as tables for people's own tools: a CSV of one table, or all of them in a SQLite file."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from traveler.jobs.cannot import CannotDo
from traveler.jobs.export_csv import CsvFile, refuse_foreign_csv
from traveler.jobs.export_sqlite import SqliteFile, refuse_foreign_sqlite
from traveler.jobs.judge import judge
from traveler.jobs.office import Office
from traveler.jobs.plans_of import Plans
from traveler.jobs.statistics import Watched, unwatched, weigher_of
from traveler.jobs.streamed_file import streamed
from traveler.record.columns import time_text
from traveler.record.records import Records
from traveler.record.unit import Unit
from traveler.trace.asking import Wanted, entries_of, how_many, pieces, products
from traveler.trace.exports.rows import NEEDED, Row, finding_rows, unit_rows
from traveler.trace.exports.tables import BY_NAME, FINDINGS, TABLES, ExportTable

KINDS = (".csv", ".sqlite")


@dataclass(frozen=True, slots=True)
class ExportWanted:
    """What is exported: which product (None: all), done since when; ``table`` is for a CSV.

    ``findings``: judge every unit, so that the table of findings is filled.
    """

    to: Path
    product: str | None = None
    since: datetime | None = None
    table: str = "readings"
    findings: bool = False


@dataclass(frozen=True, slots=True)
class Exported:
    """The file, how many units were looked at, and the rows in each table."""

    file: Path
    units: int
    rows: dict[str, int]

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {"file": str(self.file), "units": self.units, "rows": self.rows}


def export_readings(office: Office, wanted: ExportWanted, watched: Watched = unwatched) -> Exported:
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
    with office.store.reading() as records, streamed(wanted.to) as temporary:
        total = _known(records, wanted)
        out = CsvFile(temporary, chosen[0]) if wanted.to.suffix == ".csv" else SqliteFile(temporary)
        try:
            for rows in watched(_rows(office, records, wanted), total):
                units += 1
                for table in chosen:
                    out.add(table, rows[table.name])
                    counts[table.name] += len(rows[table.name])
            out.finish()
        finally:
            out.close()
    return Exported(wanted.to, units, counts)


def _chosen(wanted: ExportWanted) -> tuple[ExportTable, ...]:
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


def _known(records: Records, wanted: ExportWanted) -> int:
    """How many units are looked at.

    Raises:
        CannotDo: no unit of that product was ever issued.
    """
    total = how_many(records, Wanted(wanted.product))
    if wanted.product is not None and not total:
        what = f"no unit of '{wanted.product}' was ever issued"
        raise CannotDo(what, f"there is {', '.join(products(records)) or 'none'}")
    return total


def _rows(office: Office, records: Records, wanted: ExportWanted) -> Iterator[dict[str, list[Row]]]:
    weigher, plans = weigher_of(office), Plans(records)
    judged = wanted.findings or (wanted.to.suffix == ".csv" and wanted.table == FINDINGS.name)
    for piece in pieces(records, Wanted(wanted.product)):
        for unit, entries in entries_of(records, piece, kinds=NEEDED):
            rows = unit_rows(unit, plans.plan(unit, entries), entries, weigher)
            if wanted.since is not None:
                rows = _later(rows, time_text(wanted.since))
            rows[FINDINGS.name] = _findings(office, records, unit) if judged else []
            yield rows


def _findings(office: Office, records: Records, unit: Unit) -> list[Row]:
    return list(finding_rows(unit, judge(office, records, unit.serial).verdict.findings))


def _later(rows: dict[str, list[Row]], since: str) -> dict[str, list[Row]]:
    """Only what was done since then; units and findings are always whole."""
    kept = {}
    for name, lines in rows.items():
        columns = BY_NAME[name].names
        at = columns.index("at") if "at" in columns else None
        kept[name] = lines if at is None else [row for row in lines if str(row[at]) >= since]
    return kept
