"""The tables of an export: what each column holds, and the rows of a unit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Literal

from traveler.definition.plan import Plan
from traveler.finding import Finding
from traveler.measure.number import Unreadable, exact_text, parse_number
from traveler.record.entry import Adjusted, Entry, Fitted, Read, Shipped, standing_entries
from traveler.record.records import Unit
from traveler.record.stored import time_text
from traveler.result import number_text
from traveler.trace.history import struck_by, whereabouts
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


_SERIAL = ExportColumn("serial", "text", "serial number of the unit")
_BUILT = (
    ExportColumn("product", "text", "product"),
    ExportColumn("revision", "text", "revision it was issued with"),
    ExportColumn("variant", "text", "variant"),
)
_SLOT = ExportColumn("slot", "text", "slot: the box on the sheet")
_SEQ = ExportColumn("seq", "count", "number of the entry in the unit's record")
_WHO = (
    ExportColumn("at", "time", "when it was done"),
    ExportColumn("by", "text", "who did it"),
)
_STRUCK = ExportColumn("struck_by", "count", "number of the entry that struck it out; empty: it stands")
_WHERE = (
    ExportColumn("operation", "text", "number of the operation; Q final checks, C crating"),
    ExportColumn("check_name", "text", "id of the check, or its text where it has none"),
    ExportColumn("again", "yes", "whether it repeats an earlier check (the inspector's)"),
    ExportColumn("position", "text", "position, as spindle=3,end=far"),
)
_LIMITS = (
    ExportColumn("state", "text", "in, out, doubtful (inside the guard band), done (no limits)"),
    ExportColumn("lower", "number", "lower limit as issued, in limit_unit"),
    ExportColumn("upper", "number", "upper limit as issued, in limit_unit"),
    ExportColumn("limit_unit", "text", "unit of the limits and of value_in_limit_unit"),
    ExportColumn("value_in_limit_unit", "number", "the value in the unit of the limits, converted exactly"),
)

UNITS = ExportTable(
    "units", "One row for each unit or lot.",
    (
        _SERIAL, *_BUILT,
        ExportColumn("digest", "text", "SHA-256 of the definition it was issued with"),
        ExportColumn("order_reference", "text", "customer order; empty: for stock"),
        ExportColumn("quantity", "count", "pieces of a lot"),
        ExportColumn("state", "text", "state now: issued, building … shipped, stopped, scrapped"),
        ExportColumn("place", "text", "where it is now"),
        ExportColumn("issued", "time", "when it was issued"),
        ExportColumn("released", "time", "when it was last released"),
        ExportColumn("shipped", "time", "when it was shipped"),
        ExportColumn("customer", "text", "to whom it was shipped"),
        ExportColumn("entries", "count", "entries in its record"),
        ExportColumn("head", "text", "last link of its chain"),
    ),
    ("serial",),
)  # fmt: skip

READINGS = ExportTable(
    "readings", "One row for each reading, in the unit it was taken in.",
    (
        _SERIAL, *_BUILT, *_WHERE, _SLOT, _SEQ, *_WHO,
        ExportColumn("recorded", "time", "when it was recorded"),
        ExportColumn("source", "text", "how it came: tool, tablet, pdf, file or paper"),
        ExportColumn("gauge", "text", "gauge it was taken with"),
        ExportColumn("written", "text", "what was written"),
        ExportColumn("value", "number", "the number as understood"),
        ExportColumn("unit", "text", "its unit"),
        ExportColumn("as_found", "yes", "whether it was read before an adjustment"),
        ExportColumn("first", "yes", "whether it is the first of its slot that stands"),
        ExportColumn("counts", "yes", "whether it is the one that counts for the unit (statistics.md)"),
        *_LIMITS, _STRUCK,
    ),
    ("serial", "seq"),
)  # fmt: skip

WORKED = ExportTable(
    "worked", "One row for each worked-out value, from the readings that count.",
    (
        _SERIAL, *_BUILT, *_WHERE, _SLOT,
        ExportColumn("at", "time", "when the last reading it is worked out from was taken"),
        *_LIMITS,
    ),
    ("serial", "slot"),
)  # fmt: skip

ADJUSTMENTS = ExportTable(
    "adjustments", "One row for each adjustment.",
    (
        _SERIAL, *_BUILT, *_WHERE, _SLOT, _SEQ, *_WHO,
        ExportColumn("done", "text", "what was done"),
        ExportColumn("amount", "text", "how far"),
        ExportColumn("advised", "text", "what the tool had advised"),
        ExportColumn("followed", "yes", "whether as advised; empty: not said"),
        _STRUCK,
    ),
    ("serial", "seq"),
)  # fmt: skip

FITTED = ExportTable(
    "fitted", "One row for each traced part or lot that was fitted.",
    (
        _SERIAL, *_BUILT, _SLOT, _SEQ, *_WHO,
        ExportColumn("part_number", "text", "number of the part"),
        ExportColumn("trace", "text", "lot or serial"),
        ExportColumn("value", "text", "the lot number or the serial"),
        _STRUCK,
    ),
    ("serial", "seq"),
)  # fmt: skip

FINDINGS = ExportTable(
    "findings", "One row for each finding that stands against a unit now, judged as it was issued.",
    (
        _SERIAL, *_BUILT,
        ExportColumn("code", "text", "code (findings.md)"),
        ExportColumn("weight", "text", "blocking, warning or note"),
        _SLOT,
        ExportColumn("seq", "count", "number of the entry it is about"),
        ExportColumn("what", "text", "what was found and what was expected"),
        ExportColumn("hint", "text", "what to do about it"),
    ),
)  # fmt: skip

TABLES = (UNITS, READINGS, WORKED, ADJUSTMENTS, FITTED, FINDINGS)
"""Every table, in the order in which they are written."""

BY_NAME = {table.name: table for table in TABLES}

VIEWS: dict[str, tuple[str, str]] = {
    "standing_readings": (
        "readings that were not struck out, numbers as REAL beside the exact text",
        (
            "SELECT *, CAST(value_in_limit_unit AS REAL) AS number, CAST(lower AS REAL) AS lower_number, "
            "CAST(upper AS REAL) AS upper_number FROM readings WHERE struck_by IS NULL"
        ),
    ),
    "counting_readings": (
        "the reading that counts for each slot of each unit",
        "SELECT * FROM standing_readings WHERE counts = 1",
    ),
    "first_readings": (
        "the first reading of each slot of each unit",
        "SELECT * FROM standing_readings WHERE first = 1",
    ),
    "fitted_now": (
        "parts and lots that were not struck out: the last one of each slot",
        (
            "SELECT f.* FROM fitted f JOIN (SELECT serial, slot, max(seq) AS seq FROM fitted "
            "WHERE struck_by IS NULL GROUP BY serial, slot) n ON n.serial = f.serial AND n.seq = f.seq"
        ),
    ),
    "first_time": (
        "share of units right at the first reading, by check and position",
        (
            "SELECT product, check_name, again, position, count(*) AS units, "
            "sum(state IN ('in', 'done')) AS right_first_time FROM first_readings "
            "GROUP BY product, check_name, again, position"
        ),
    ),
}
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
        self.spots: Mapping[str, PlannedSlot] = plan_index(plan).spots
        self.struck = struck_by(entries)

    def unit_row(self) -> ExportRow:
        unit, standing = self.unit, standing_entries(self.entries)
        last: dict[str, Entry] = {entry.body.kind: entry for entry in standing}
        shipped = last.get("shipped")
        customer = shipped.body.customer if shipped and isinstance(shipped.body, Shipped) else None
        return (
            *_built(unit), unit.digest, unit.order, unit.quantity, unit.state,
            whereabouts(unit.state, self.entries), time_text(unit.issued), _time(last.get("released")),
            _time(shipped), customer, unit.entries, unit.head,
        )  # fmt: skip

    def reading(self, entry: Entry, body: Read, read: Mapping[str, SlotReadings]) -> ExportRow:
        life = read.get(entry.slot or "")
        taken = (
            next((reading for reading in life.readings if reading.seq == entry.seq), None) if life else None
        )
        first = life is not None and taken is not None and life.first.seq == entry.seq
        counts = (
            life is not None
            and taken is not None
            and life.stands is not None
            and life.stands.seq == entry.seq
        )
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
        spot = self.spots.get(entry.slot or "")
        number = body.number or (
            spot.step.part_number if spot is not None and spot.step is not None else None
        )
        return (
            *_built(self.unit), *_who(entry), number, body.trace,
            body.value, self.struck.get(entry.seq),
        )  # fmt: skip

    def _where(self, slot: str | None) -> ExportRow:
        spot = self.spots.get(slot or "")
        if spot is None:
            return None, None, 0, ""
        check, again = (
            check_named(self.plan, spot.step, spot.slot)
            if spot.step is not None
            else (spot.slot.label, False)
        )
        position = ",".join(f"{name}={value}" for name, value in spot.slot.position)
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
