"""Builds a large store quickly: any number of units with any number of entries, always the same ones.

Every entry goes through the chain that the program uses (``traveler.record.chain.link_row``); only the
writing is done in bulk, by several processes. From the command line it makes a whole shop to try things in:

    .venv/bin/python tests/bench/large_store.py /tmp/large --units 20000 --entries 200

In a test, the fixture ``large_store`` is this module: ``large_store.build(url, units=1000, entries=200)``.

What is planted: one casting lot (25 units, like every lot) reads higher on the first check, and eight of its
units were complained about; gauge ``IND-05`` reads 0.003 mm low on the last tenth of the units. The last one
in a hundred units is half built, the four in a hundred before are in stock, all others are shipped. Readings
are all within their limits, so that a unit's verdict is clean.
"""

from __future__ import annotations

import argparse
import random
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import astuple, dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import text

from traveler.definition.load import load
from traveler.definition.model import Definition, canonical_content, definition_digest
from traveler.definition.serial import check_character_ok, make_serial
from traveler.record import tables
from traveler.record.chain import GENESIS, link_row
from traveler.record.engine import database_address, sqlite_file
from traveler.record.entry import (
    Body,
    Complained,
    Crated,
    Draft,
    Fitted,
    Issued,
    Placed,
    Read,
    Released,
    Shipped,
    Signed,
    entry_references,
)
from traveler.record.records import IssuedDefinition
from traveler.record.store import Store
from traveler.record.stored import StoredRow

FIRST_DAY = datetime(2023, 9, 4, 6, 0, tzinfo=UTC)
UNITS_A_DAY = 20
UNITS_A_LOT = 25
SPOTS = 20
FIXED = 9
"""Entries of a shipped unit besides its readings and their signatures."""

GAUGES = tuple(f"IND-{number:02}" for number in range(1, 9))
LOW_GAUGE = "IND-05"
BUILDERS = ("tkiln", "bfell", "mreed", "jlath", "srush", "npeg")
CUSTOMERS = tuple(f"Weavers of Dale {number:02}" for number in range(1, 41))
ZONE = "Europe/Dublin"
PATTERN = "CW{variant}-{yy}{ww}-{n:05}"
COLUMNS = {
    "unit": tuple(column.name for column in tables.unit_table.columns),
    "entry": tuple(column.name for column in tables.entry_table.columns),
    "ref": tuple(column.name for column in tables.reference_table.columns),
}


@dataclass(frozen=True)
class Wanted:
    """What is asked for; the same request always gives the same records."""

    units: int
    entries: int = 200
    seed: int = 1

    @property
    def planted(self) -> int:
        """Number of the casting lot that reads high: the one in the middle."""
        return self.units // 2 // UNITS_A_LOT


@dataclass(frozen=True)
class Built:
    """What was built, and what was planted in it."""

    wanted: Wanted
    url: str
    product: str
    digest: str
    serials: tuple[str, ...]
    entries: int
    lot: str
    lot_units: tuple[str, ...]
    complained: tuple[str, ...]
    gauge: str = LOW_GAUGE

    def lot_of(self, number: int) -> str:
        """The casting lot of unit ``number`` (from 0)."""
        return casting(number // UNITS_A_LOT)


def casting(lot: int) -> str:
    """The name of a casting lot."""
    return f"P-2101/{lot:04}"


def blocks(entries: int) -> list[int]:
    """How many readings each operation after the first has; a shipped unit then has ``entries`` entries."""
    left = entries - FIXED
    if left < 2:
        raise ValueError(f"a unit has at least {FIXED + 2} entries")
    sizes = []
    while left:
        size = min(SPOTS + 1, left)
        size -= 1 if left - size == 1 else 0
        sizes.append(size - 1)
        left -= size
    return sizes


def definition_text(entries: int) -> str:
    """The definition, as YAML: parts with lots, then operations of readings, each signed."""
    head = (
        "format: 1\nproduct: cone-winder\ntitle: Cone winder\nrevision: B\nrevised: 2023-08-01\n"
        f'approved_by: rhale\ntrack: serial\nserials: {{pattern: "{PATTERN}"}}\n'
        'variants: {"6": {title: Six cones}}\n'
        "gauges:\n  indicator: {title: Dial indicator, resolution: 0.001 mm}\noperations:\n"
        "  - number: 10\n    title: Frame\n    sign: assembler\n    steps:\n"
        "      - {fit: Casting, number: P-2101, trace: lot}\n"
        "      - {fit: Bearing set, number: P-2102, trace: lot}\n"
        "      - {fit: Motor, number: P-2103, trace: serial}\n"
    )
    parts = []
    for number, readings in enumerate(blocks(entries), start=1):
        limits = "max 0.050 mm" if number % 2 else "12.000 ± 0.050 mm"
        parts.append(
            f"  - number: {10 + number * 10}\n    title: Alignment {number}\n    sign: assembler\n"
            "    steps:\n"
            f"      - measure: Alignment {number}\n        id: check-{number}\n"
            f"        at: {{spot: {readings}}}\n        limits: {limits}\n        gauge: indicator\n"
        )
    return head + "".join(parts)


def definition(entries: int) -> Definition:
    """The definition of the product."""
    loaded = load(definition_text(entries), "cone-winder.yaml", lambda _: True)
    assert loaded.definition is not None, [str(finding) for finding in loaded.findings]
    return loaded.definition


def write_shop(folder: Path, entries: int = 200, database: str = "sqlite:///records.db") -> Path:
    """A shop folder whose people and gauges the records name."""
    (folder / "product_defs").mkdir(parents=True, exist_ok=True)
    people = [("rhale", "engineering"), ("qmoor", "quality"), ("pstrap", "packer"), ("sdock", "shipping")]
    people += [(builder, "assembler") for builder in BUILDERS]
    (folder / "people.yaml").write_text(
        "format: 1\npeople:\n"
        + "".join(
            f"  - {{id: {item}, name: {item[0].upper()}. {item[1:].title()}, "
            f"roles: [{{role: {role}, since: 2020-01-01}}]}}\n"
            for item, role in people
        )
    )
    years = ", ".join(f"{{on: {year}-01-05, certificate: C-{year}}}" for year in range(2023, 2035))
    (folder / "gauges.yaml").write_text(
        "format: 1\ngauges:\n"
        + "".join(
            f"  - {{id: {gauge}, kind: indicator, title: Dial indicator, range: 0 to 25 mm, "
            f"resolution: 0.001 mm, uncertainty: 0.002 mm, interval_days: 400, calibrations: [{years}]}}\n"
            for gauge in GAUGES
        )
    )
    (folder / "shop.yaml").write_text(
        f"format: 1\nname: Marrowby Machine Works\npage_size: A4\ntime_zone: {ZONE}\ndatabase: {database}\n"
    )
    (folder / "product_defs" / "cone-winder.yaml").write_text(definition_text(entries))
    return folder


def begun(number: int) -> datetime:
    """When unit ``number`` was issued."""
    day, of_day = divmod(number, UNITS_A_DAY)
    return FIRST_DAY + timedelta(days=day, minutes=20 * of_day)


def serials_of(units: int) -> tuple[str, ...]:
    """The serials of all units; running numbers whose check character is never given are passed over."""
    found: list[str] = []
    running = 0
    while len(found) < units:
        running += 1
        serial = make_serial(PATTERN, "6", running, begun(len(found)).date())
        if check_character_ok(serial):
            found.append(serial)
    return tuple(found)


class UnitMaker:
    """Makes the rows of units; what all of them share is worked out once."""

    def __init__(self, wanted: Wanted) -> None:
        self.wanted = wanted
        self.sizes = blocks(wanted.entries)
        self.digest = definition_digest(definition(wanted.entries))
        self.serials = serials_of(wanted.units)

    def rows(self, number: int) -> tuple[tuple[Any, ...], list[StoredRow], list[tuple[str, str, str, int]]]:
        """The unit's row, its entries and its references."""
        serial, when = self.serials[number], begun(number)
        previous, kept, refs = GENESIS, [], []
        state = "issued"
        for seq, (slot, by, said) in enumerate(self._life(number), start=1):
            body = Released(head=previous, count=seq - 1) if isinstance(said, Released) else said
            at = when + timedelta(minutes=2 * seq)
            draft = Draft.model_construct(
                unit=serial, at=at, zone=ZONE, by=by, slot=slot, body=body, source="tool"
            )
            row = link_row(draft, seq, previous, at)
            kept.append(row)
            refs += [(kind, value, serial, seq) for kind, value in entry_references(draft)]
            previous, state = row.hash, STATES.get(row.kind, "building" if slot else state)
        unit = (
            serial, "cone-winder", "B", "6", self.digest, kept[0].at, self._order(number), None, state,
            len(kept), previous,
        )  # fmt: skip
        return unit, kept, refs

    def _life(self, number: int) -> Iterator[tuple[str | None, str, Body]]:
        """Slot, person and body of every entry in order."""
        chance = random.Random(f"{self.wanted.seed}/{number}")
        builder = BUILDERS[chance.randrange(len(BUILDERS))]
        lot, units = number // UNITS_A_LOT, self.wanted.units
        issued = Issued(
            product="cone-winder", revision="B", variant="6", digest=self.digest, order=self._order(number)
        )
        yield None, "rhale", issued
        yield "10-1", builder, Fitted(trace="lot", value=casting(lot), number="P-2101")
        yield (
            "10-2",
            builder,
            Fitted(trace="lot", value=f"P-2102/{(number + 11) // UNITS_A_LOT:04}", number="P-2102"),
        )
        yield "10-3", builder, Fitted(trace="serial", value=f"M-{number:06}", number="P-2103")
        yield "10/sign", builder, Signed()
        half_built = number >= units - units // 100
        sizes = self.sizes[: (len(self.sizes) + 1) // 2] if half_built else self.sizes
        for operation, readings in enumerate(sizes, start=1):
            yield from self._readings(number, operation, readings, builder, chance)
        if half_built:
            return
        yield None, "qmoor", Released(head=GENESIS, count=0)  # the chain's end is put in when it is known
        yield None, "pstrap", Crated()
        yield None, "pstrap", Placed(place=f"Bay {number % 9 + 1}")
        if number >= units - units // 20:
            return
        customer = CUSTOMERS[number // 5 % len(CUSTOMERS)]
        yield None, "sdock", Shipped(customer=customer, carrier="own van", reference=f"DN-{number:05}")
        if complained(self.wanted, number):
            yield None, "qmoor", Complained(text="Hums under load.", check="check-1", reading="0.061 mm")

    def _readings(
        self, number: int, operation: int, readings: int, builder: str, chance: random.Random
    ) -> Iterator[tuple[str | None, str, Body]]:
        step = 10 + operation * 10
        gauge = GAUGES[chance.randrange(len(GAUGES))]
        low = 3 if gauge == LOW_GAUGE and number >= self.wanted.units - self.wanted.units // 10 else 0
        high = 14 if operation == 1 and number // UNITS_A_LOT == self.wanted.planted else 0
        for spot in range(1, readings + 1):
            if operation % 2:
                value = f"0.{max(1, min(49, round(chance.gauss(22, 5)) + high - low)):03}"
            else:
                value = f"{(12000 + max(-48, min(48, round(chance.gauss(0, 12)) - low))) / 1000:.3f}"
            read = Read.model_construct(
                kind="read", written=f"{value} mm", value=value, unit="mm", gauge=gauge, as_found=False,
                unit_from="written",
            )  # fmt: skip
            yield f"{step}-1/spot={spot}", builder, read
        yield f"{step}/sign", builder, Signed()

    def _order(self, number: int) -> str:
        return f"O-{number // 5:05}"


STATES = {
    "released": "released",
    "crated": "crated",
    "placed": "in stock",
    "shipped": "shipped",
    "complained": "shipped",
}


def complained(wanted: Wanted, number: int) -> bool:
    """Whether somebody complained about unit ``number``: eight units of the planted lot."""
    return (
        number // UNITS_A_LOT == wanted.planted
        and number % UNITS_A_LOT % 3 == 0
        and number % UNITS_A_LOT < 24
    )


def build(url: str, *, units: int, entries: int = 200, seed: int = 1, processes: int = 2) -> Built:
    """Fills the empty store at this address (SQLite or PostgreSQL) and says what is in it."""
    wanted, serials = Wanted(units, entries, seed), serials_of(units)
    defined = definition(entries)
    frozen = IssuedDefinition(
        "cone-winder", "B", definition_digest(defined), canonical_content(defined).decode(), FIRST_DAY
    )
    with Store.open(url) as store, store.transaction() as work:
        assert not work.units(limit=1), "the store is not empty"
        work.put_definition(frozen)
        last = int(serials[-1].split("-")[2][:-1]) if serials else 0
        work.ask(
            text("INSERT INTO counter (key, last) VALUES (:key, :last)"), [{"key": PATTERN, "last": last}]
        )
    file = sqlite_file(database_address(url))
    with tempfile.TemporaryDirectory(dir=file.parent if file else None, prefix=".building-") as folder:
        parts = [Path(folder) / f"{number}.db" for number in range(processes)]
        _work(wanted, [str(part) if file else url for part in parts])
        if file:
            _merge(file, parts)
    with Store.open(url) as store, store.transaction() as work:
        work.ask(text("ANALYZE"))
        count = work.ask(text("SELECT sum(entries) FROM unit")).scalar_one()
    first = wanted.planted * UNITS_A_LOT
    return Built(
        wanted, url, "cone-winder", frozen.digest, serials, int(count), casting(wanted.planted),
        serials[first : first + UNITS_A_LOT],
        tuple(serial for number, serial in enumerate(serials) if complained(wanted, number)),
    )  # fmt: skip


def _work(wanted: Wanted, targets: list[str]) -> None:
    """One process for each target, each with a slice of the units."""
    cuts = [wanted.units * at // len(targets) for at in range(len(targets) + 1)]
    running = [
        subprocess.Popen(
            [sys.executable, __file__, "--part", target, str(first), str(last), *map(str, astuple(wanted))]
        )
        for target, first, last in zip(targets, cuts, cuts[1:], strict=False)
    ]
    failed = [process for process in running if process.wait() != 0]
    assert not failed, "a process that builds the store failed"


def _part(target: str, first: int, last: int, wanted: Wanted) -> None:
    """What one process does: units ``first`` to ``last`` into a file of its own, or into PostgreSQL."""
    maker = UnitMaker(wanted)
    write = _into_postgres if target.startswith("postgres") else _into_file
    write(target, (maker.rows(number) for number in range(first, last)))


def _into_file(target: str, made: Iterator[tuple[Any, ...]]) -> None:
    connection = sqlite3.connect(target, isolation_level=None)
    connection.executescript("PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF")
    for table, columns in COLUMNS.items():
        connection.execute(f"CREATE TABLE {table} ({', '.join(columns)})")
    connection.execute("BEGIN")
    for unit, entries, refs in made:
        _insert(connection, "unit", [unit])
        _insert(connection, "entry", [_tuple(entry) for entry in entries])
        _insert(connection, "ref", refs)
    connection.execute("COMMIT")
    connection.close()


def _insert(connection: sqlite3.Connection, table: str, rows: list[Any]) -> None:
    marks = ", ".join("?" * len(COLUMNS[table]))
    connection.executemany(f"INSERT INTO {table} VALUES ({marks})", rows)  # noqa: S608 - names of our own


def _tuple(row: StoredRow) -> tuple[Any, ...]:
    return tuple(getattr(row, name) for name in COLUMNS["entry"])


def _merge(file: Path, parts: list[Path]) -> None:
    """Everything from the parts into the store, in the order of its keys."""
    connection = sqlite3.connect(file, isolation_level=None)
    connection.executescript(
        "PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF; PRAGMA foreign_keys=OFF; PRAGMA cache_size=-200000"
    )
    names = [f"part_{number}" for number in range(len(parts))]
    for name, part in zip(names, parts, strict=True):
        connection.execute(f"ATTACH ? AS {name}", [str(part)])
    made = "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND tbl_name IN ('ref', 'entry')"
    indexes = connection.execute(f"{made} AND sql > ''").fetchall()
    connection.execute("BEGIN")
    for name, _ in indexes:
        connection.execute(f"DROP INDEX {name}")
    for table, columns in COLUMNS.items():
        listed = ", ".join(f'"{column}"' for column in columns)
        every = " UNION ALL ".join(f"SELECT * FROM {name}.{table}" for name in names)  # noqa: S608
        order = {"ref": "ORDER BY kind, value, unit, seq", "entry": "ORDER BY unit, seq"}.get(table, "")
        connection.execute(f"INSERT INTO main.{table} ({listed}) {every} {order}")
    for _, sql in indexes:
        connection.execute(sql)
    connection.execute("COMMIT")
    connection.execute("PRAGMA journal_mode=WAL")
    connection.close()


def _into_postgres(target: str, made: Iterator[tuple[Any, ...]]) -> None:
    import psycopg

    plain = database_address(target).set(drivername="postgresql").render_as_string(hide_password=False)
    with psycopg.connect(plain) as connection:
        connection.execute("SET synchronous_commit = off")
        held: list[tuple[Any, ...]] = []
        for item in made:
            held.append(item)
            if len(held) == 100:
                _copy(connection, held)
                held = []
        _copy(connection, held)


def _copy(connection: Any, held: list[tuple[Any, ...]]) -> None:
    rows = {
        "unit": [unit for unit, _, _ in held],
        "entry": [_tuple(entry) for _, entries, _ in held for entry in entries],
        "ref": [ref for _, _, refs in held for ref in refs],
    }
    with connection.cursor() as cursor:
        for table, columns in COLUMNS.items():
            listed = ", ".join(f'"{column}"' for column in columns)
            with cursor.copy(f"COPY {table} ({listed}) FROM STDIN") as copy:
                for row in rows[table]:
                    copy.write_row(row)
    connection.commit()


def main() -> None:
    """From the command line: a whole shop folder with a large store in it."""
    if sys.argv[1:2] == ["--part"]:
        target, first, last, *wanted = sys.argv[2:]
        _part(target, int(first), int(last), Wanted(*map(int, wanted)))
        return
    parser = argparse.ArgumentParser(description="Builds a shop with a large store.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--units", type=int, default=1000)
    parser.add_argument("--entries", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--database", help="an empty database; default: records.db in the folder")
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    write_shop(asked.folder, asked.entries, asked.database or "sqlite:///records.db")
    url = asked.database or f"sqlite:///{asked.folder / 'records.db'}"
    start = datetime.now(UTC)
    built = build(url, units=asked.units, entries=asked.entries, seed=asked.seed, processes=asked.processes)
    took = (datetime.now(UTC) - start).total_seconds()
    print(
        f"{len(built.serials)} units, {built.entries} entries in {took:.1f} s; planted: lot {built.lot}, "
        f"gauge {built.gauge}; complained: {', '.join(built.complained)}"
    )


if __name__ == "__main__":
    main()
