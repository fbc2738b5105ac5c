"""The tables of an export and what each column says; files, handbook and tests are made from these."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["text", "number", "count", "yes", "time"]
"""``number``: exact decimal text. ``count``: a whole number. ``yes``: 1 or 0. ``time``: ISO 8601, UTC."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name, what kind of value it holds, and what that says."""

    name: str
    kind: Kind
    says: str


@dataclass(frozen=True, slots=True)
class ExportTable:
    """One table; ``key`` names the columns that tell its rows apart (empty: none do)."""

    name: str
    says: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its columns, in order."""
        return tuple(column.name for column in self.columns)


_SERIAL = Column("serial", "text", "serial number of the unit")
_BUILT = (
    Column("product", "text", "product"),
    Column("revision", "text", "revision it was issued with"),
    Column("variant", "text", "variant"),
)
_SLOT = Column("slot", "text", "slot: the box on the sheet")
_SEQ = Column("seq", "count", "number of the entry in the unit's record")
_WHO = (
    Column("at", "time", "when it was done"),
    Column("by", "text", "who did it"),
)
_STRUCK = Column("struck_by", "count", "number of the entry that struck it out; empty: it stands")
_WHERE = (
    Column("operation", "text", "number of the operation; Q final checks, C crating"),
    Column("check_name", "text", "id of the check, or its text where it has none"),
    Column("again", "yes", "whether it repeats an earlier check (the inspector's)"),
    Column("position", "text", "position, as spindle=3,end=far"),
)
_LIMITS = (
    Column("state", "text", "in, out, doubtful (inside the guard band), done (no limits)"),
    Column("lower", "number", "lower limit as issued, in limit_unit"),
    Column("upper", "number", "upper limit as issued, in limit_unit"),
    Column("limit_unit", "text", "unit of the limits and of value_in_limit_unit"),
    Column("value_in_limit_unit", "number", "the value in the unit of the limits, converted exactly"),
)

UNITS = ExportTable(
    "units", "One row for each unit or lot.",
    (
        _SERIAL, *_BUILT,
        Column("digest", "text", "SHA-256 of the definition it was issued with"),
        Column("order_reference", "text", "customer order; empty: for stock"),
        Column("quantity", "count", "pieces of a lot"),
        Column("state", "text", "state now: issued, building … shipped, stopped, scrapped"),
        Column("place", "text", "where it is now"),
        Column("issued", "time", "when it was issued"),
        Column("released", "time", "when it was last released"),
        Column("shipped", "time", "when it was shipped"),
        Column("customer", "text", "to whom it was shipped"),
        Column("entries", "count", "entries in its record"),
        Column("head", "text", "last link of its chain"),
    ),
    ("serial",),
)  # fmt: skip

READINGS = ExportTable(
    "readings", "One row for each reading, in the unit it was taken in.",
    (
        _SERIAL, *_BUILT, *_WHERE, _SLOT, _SEQ, *_WHO,
        Column("recorded", "time", "when it was recorded"),
        Column("source", "text", "how it came: tool, tablet, pdf, file or paper"),
        Column("gauge", "text", "gauge it was taken with"),
        Column("written", "text", "what was written"),
        Column("value", "number", "the number as understood"),
        Column("unit", "text", "its unit"),
        Column("as_found", "yes", "whether it was read before an adjustment"),
        Column("first", "yes", "whether it is the first of its slot that stands"),
        Column("counts", "yes", "whether it is the one that counts for the unit (statistics.md)"),
        *_LIMITS, _STRUCK,
    ),
    ("serial", "seq"),
)  # fmt: skip

WORKED = ExportTable(
    "worked", "One row for each worked-out value, from the readings that count.",
    (
        _SERIAL, *_BUILT, *_WHERE, _SLOT,
        Column("at", "time", "when the last reading it is worked out from was taken"),
        *_LIMITS,
    ),
    ("serial", "slot"),
)  # fmt: skip

ADJUSTMENTS = ExportTable(
    "adjustments", "One row for each adjustment.",
    (
        _SERIAL, *_BUILT, *_WHERE, _SLOT, _SEQ, *_WHO,
        Column("done", "text", "what was done"),
        Column("amount", "text", "how far"),
        Column("advised", "text", "what the tool had advised"),
        Column("followed", "yes", "whether as advised; empty: not said"),
        _STRUCK,
    ),
    ("serial", "seq"),
)  # fmt: skip

FITTED = ExportTable(
    "fitted", "One row for each traced part or lot that was fitted.",
    (
        _SERIAL, *_BUILT, _SLOT, _SEQ, *_WHO,
        Column("part_number", "text", "number of the part"),
        Column("trace", "text", "lot or serial"),
        Column("value", "text", "the lot number or the serial"),
        _STRUCK,
    ),
    ("serial", "seq"),
)  # fmt: skip

FINDINGS = ExportTable(
    "findings", "One row for each finding that stands against a unit now, judged as it was issued.",
    (
        _SERIAL, *_BUILT,
        Column("code", "text", "code (findings.md)"),
        Column("weight", "text", "blocking, warning or note"),
        _SLOT,
        Column("seq", "count", "number of the entry it is about"),
        Column("what", "text", "what was found and what was expected"),
        Column("hint", "text", "what to do about it"),
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
