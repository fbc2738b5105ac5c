"""The tables of an export: what each column holds, and the rows of a unit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from importlib.resources import files
from typing import Any, Literal

import yaml

from traveler.definition.plan import Plan, where_key
from traveler.finding import Finding
from traveler.measure.number import Unreadable, exact_text, parse_number
from traveler.record.entry import Adjusted, Entry, Fitted, Read, Shipped, standing_entries, struck_by
from traveler.record.records import Unit
from traveler.record.stored import time_text
from traveler.result import number_text
from traveler.trace.history import whereabouts
from traveler.trace.stats.unit_readings import (
    STATISTICS_KINDS,
    SlotReadings,
    check_named,
    unit_readings,
)
from traveler.verdict.plan_index import PlannedSlot, plan_index
from traveler.verdict.rows import ReadingRow, Weigher

Kind = Literal["text", "number", "count", "yes", "time"]
"""``number``: exact decimal text. ``count``: a whole number. ``yes``: 1 or 0. ``time``: ISO 8601, UTC."""


@dataclass(frozen=True, slots=True)
class ExportColumn:
    """One column: its name, what kind of value it holds, and what that says."""

    name: str
    kind: Kind
    says: str


@dataclass(frozen=True, slots=True)
class ExportTable:
    """One table; ``key`` names the columns that tell its rows apart (empty: none do)."""

    name: str
    says: str
    columns: tuple[ExportColumn, ...]
    key: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its columns, in order."""
        return tuple(column.name for column in self.columns)


def _read(data: Any) -> tuple[ExportTable, ...]:
    def columns(items: Sequence[Any]) -> Iterator[ExportColumn]:
        for item in items:
            if isinstance(item, str):
                yield from columns(data["groups"][item.removeprefix("*")])
            else:
                yield ExportColumn(**item)

    return tuple(
        ExportTable(
            table["name"], table["says"], tuple(columns(table["columns"])), tuple(table.get("key", ()))
        )
        for table in data["tables"]
    )


_DATA = yaml.safe_load(files(__package__).joinpath("export_tables.yaml").read_text(encoding="utf-8"))

TABLES = _read(_DATA)
"""Every table, in the order in which they are written."""

BY_NAME = {table.name: table for table in TABLES}
UNITS, READINGS, WORKED, ADJUSTMENTS, FITTED, FINDINGS = TABLES

VIEWS: dict[str, tuple[str, str]] = {view["name"]: (view["says"], view["select"]) for view in _DATA["views"]}
"""Name of a view → what it holds, and its SELECT."""


ExportCell = str | int | None
ExportRow = tuple[ExportCell, ...]

NEEDED = frozenset({*STATISTICS_KINDS, "fitted", "placed", "shipped"})
"""The kinds of entries that the rows are made from."""


def number_cell(value: Fraction) -> str:
    """The number as decimal text: exact where decimals end, else 15 significant digits.

    >>> number_cell(Fraction(11, 8)), number_cell(Fraction(1, 3))
    ('1.375', '0.333333333333333')
    """
    text = exact_text(value)
    return text if "/" not in text else number_text(value)


def unit_rows(
    unit: Unit, plan: Plan, entries: Sequence[Entry], weigher: Weigher
) -> dict[str, list[ExportRow]]:
    """Table → rows of this unit, but for its findings; ``entries`` are at least those of :data:`NEEDED`."""
    life = unit_readings(unit, plan, entries, weigher)
    made = _Rows(unit, plan, entries)
    read = {slot.spot.slot.id: slot for slot in life.slots if not slot.spot.slot.inputs}
    worked = [slot for slot in life.slots if slot.spot.slot.inputs]
    return {
        "units": [made.unit_row()],
        "readings": [
            made.reading(entry, entry.body, read) for entry in entries if isinstance(entry.body, Read)
        ],
        "worked": [made.worked(slot, slot.stands) for slot in worked if slot.stands is not None],
        "adjustments": [
            made.adjustment(entry, entry.body) for entry in entries if isinstance(entry.body, Adjusted)
        ],
        "fitted": [made.fitted(entry, entry.body) for entry in entries if isinstance(entry.body, Fitted)],
    }


def finding_rows(unit: Unit, findings: Sequence[Finding]) -> Iterator[ExportRow]:
    """The rows of the table of findings."""
    for finding in findings:
        yield (
            *_built(unit), finding.code, str(finding.weight), finding.place.slot, finding.place.entry,
            finding.what, finding.hint,
        )  # fmt: skip


def _built(unit: Unit) -> ExportRow:
    return unit.serial, unit.product, unit.revision, unit.variant


def _who(entry: Entry) -> ExportRow:
    return entry.slot, entry.seq, time_text(entry.at), entry.by


class _Rows:
    """The rows of one unit, with what they share looked up once."""

    def __init__(self, unit: Unit, plan: Plan, entries: Sequence[Entry]) -> None:
        self.unit = unit
        self.plan = plan
        self.entries = entries
        self.slots: Mapping[str, PlannedSlot] = plan_index(plan).slots
        self.struck = struck_by(entries)

    def unit_row(self) -> ExportRow:
        unit, standing = self.unit, standing_entries(self.entries)
        last: dict[str, Entry] = {entry.body.kind: entry for entry in standing}
        shipped = last.get("shipped")
        customer = shipped.body.customer if shipped and isinstance(shipped.body, Shipped) else None
        return (
            *_built(unit), unit.digest, unit.order, unit.quantity, unit.state,
            whereabouts(unit.state, self.entries).text, time_text(unit.issued), _time(last.get("released")),
            _time(shipped), customer, unit.entries, unit.head,
        )  # fmt: skip

    def reading(self, entry: Entry, body: Read, read: Mapping[str, SlotReadings]) -> ExportRow:
        life = read.get(entry.slot or "")
        taken = (
            next((reading for reading in life.readings if reading.seq == entry.seq), None) if life else None
        )
        first = life is not None and life.first is taken
        counts = taken is not None and life is not None and life.stands is taken
        return (
            *_built(self.unit), *self._where(entry.slot), *_who(entry), time_text(entry.recorded),
            entry.source, body.gauge, body.written, _decimal(body.value), body.unit, int(body.as_found),
            int(first), int(counts), *_limits(life, taken), self.struck.get(entry.seq),
        )  # fmt: skip

    def worked(self, life: SlotReadings, taken: ReadingRow) -> ExportRow:
        slot = life.spot.slot.id
        return *_built(self.unit), *self._where(slot), slot, time_text(taken.at), *_limits(life, taken)

    def adjustment(self, entry: Entry, body: Adjusted) -> ExportRow:
        return (
            *_built(self.unit), *self._where(entry.slot), *_who(entry), body.done, body.amount, body.advised,
            None if body.followed is None else int(body.followed), self.struck.get(entry.seq),
        )  # fmt: skip

    def fitted(self, entry: Entry, body: Fitted) -> ExportRow:
        number = self.plan.part_number(entry.slot, body.number)
        return (
            *_built(self.unit), *_who(entry), number, body.trace,
            body.value, self.struck.get(entry.seq),
        )  # fmt: skip

    def _where(self, slot: str | None) -> ExportRow:
        spot = self.slots.get(slot or "")
        if spot is None:
            return None, None, 0, ""
        check, again = (
            check_named(self.plan, spot.step, spot.slot)
            if spot.step is not None
            else (spot.slot.label, False)
        )
        position = where_key(spot.slot.position)
        return spot.operation.number, check, int(again), position


def _limits(life: SlotReadings | None, taken: ReadingRow | None) -> ExportRow:
    limits = life.limits if life is not None else None
    low, high = (None, None) if limits is None else (limits.lower, limits.upper)
    return (
        str(taken.state) if taken is not None else None,
        None if low is None else number_cell(low),
        None if high is None else number_cell(high),
        limits.unit if limits is not None else None,
        number_cell(taken.value.value) if taken is not None else None,
    )


def _decimal(text: str) -> str:
    """A recorded number as decimal text; one that no reader understands stays as it is."""
    if "/" not in text:
        return text
    try:
        return number_cell(parse_number(text).value)
    except Unreadable:
        return text


def _time(entry: Entry | None) -> str | None:
    moment: datetime | None = entry.at if entry is not None else None
    return None if moment is None else time_text(moment)
