"""Reading the records: units, definitions and entries in one consistent view."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, CursorResult, Executable, Row, Select, bindparam, func, select, text

from traveler.finding import Finding, Place
from traveler.record import tables
from traveler.record.attachments import Attachment
from traveler.record.engine import undecoded
from traveler.record.entry import Entry, Fitted, done_order, reference_value, standing_entries
from traveler.record.errors import StoreDamaged
from traveler.record.stored import StoredRow, to_entry


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit, or a lot of parts (then with a quantity). ``entries`` and ``head`` say where its chain ends.

    ``state`` is the text of a unit state (``issued``, ``building`` ... ``shipped``).
    """

    serial: str
    product: str
    revision: str
    variant: str
    digest: str
    issued: datetime
    order: str | None
    quantity: int | None
    state: str
    entries: int
    head: str


@dataclass(frozen=True, slots=True)
class IssuedDefinition:
    """A definition that units were issued with: ``content`` is canonical JSON, ``digest`` its SHA-256."""

    product: str
    revision: str
    digest: str
    content: str
    first_issued: datetime


@dataclass(frozen=True, slots=True)
class DefinitionDiffers:
    """The answer to a definition that is not the one already issued under its product and revision."""

    kept: IssuedDefinition
    digest: str

    def finding(self) -> Finding:
        """STO001: the definition was changed without raising its revision."""
        kept = self.kept
        what = (
            f"{kept.product} revision {kept.revision} was issued on {kept.first_issued:%Y-%m-%d} with digest "
            f"{kept.digest[:12]}; this definition has {self.digest[:12]}"
        )
        hint = "raise the revision, and say in 'change' what changed"
        return Finding("STO001", what, Place(), hint=hint)


@dataclass(frozen=True, slots=True)
class PinTrials:
    """How many trials count, and when the last one began (UTC, by the clock of the store)."""

    failures: int
    last: datetime


_ENTRY = tables.entry_table.c
_UNIT = tables.unit_table.c
_REF = tables.reference_table.c

_AT_ONCE = 500
"""Serials asked for in one statement; a database takes a limited number of them."""

_ONE_UNIT = select(tables.unit_table).where(_UNIT.serial == bindparam("serial"))
_ROWS = select(tables.entry_table).where(_ENTRY.unit == bindparam("serial")).order_by(_ENTRY.seq)
_WHERE_USED = (
    select(tables.entry_table)
    .join(tables.reference_table, (_REF.unit == _ENTRY.unit) & (_REF.seq == _ENTRY.seq))
    .where(_REF.kind == bindparam("kind"), _REF.value == bindparam("value"))
    .order_by(_REF.unit, _REF.seq)
)
"""Made once: to make such a statement takes longer than the database needs for its answer."""


class Records:
    """What may be asked of a store. Every question about one unit or one value is an index look-up."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._definitions: dict[tuple[str, ...], IssuedDefinition] = {}

    @property
    def dialect(self) -> str:
        """``sqlite`` or ``postgresql``."""
        return self._connection.dialect.name

    def ask(self, statement: Executable, rows: Sequence[dict[str, Any]] | None = None) -> CursorResult[Any]:
        """Any statement, for questions that have no name here (statistics, exports, checks, copies)."""
        return self._connection.execute(statement, rows)

    def unit(self, serial: str) -> Unit | None:
        """The unit of exactly this serial, or None."""
        row = self._connection.execute(_ONE_UNIT, {"serial": serial}).one_or_none()
        return None if row is None else _unit(row)

    def units(
        self, *,
        product: str | None = None, revision: str | None = None, variant: str | None = None,
        state: str | None = None, order: str | None = None, digest: str | None = None,
        since: datetime | None = None, until: datetime | None = None,
        after: str | None = None, limit: int | None = None,
    ) -> tuple[Unit, ...]:  # fmt: skip
        """Units by serial; ``since`` and ``until`` (both included) ask for when they were issued.

        For long lists ask for pieces: ``limit`` units whose serial comes ``after`` the last one seen.
        """
        wanted = {
            "product": product, "revision": revision, "variant": variant, "state": state,
            "order_reference": order, "digest": digest,
        }  # fmt: skip
        asked = select(tables.unit_table).order_by(_UNIT.serial)
        asked = asked.where(*(_UNIT[name] == value for name, value in wanted.items() if value is not None))
        if since is not None:
            asked = asked.where(_UNIT.issued >= since)
        if until is not None:
            asked = asked.where(_UNIT.issued <= until)
        if after is not None:
            asked = asked.where(_UNIT.serial > after)
        return tuple(_unit(row) for row in self._connection.execute(asked.limit(limit)))

    def serials_ending(self, end: str) -> tuple[str, ...]:
        """Serials that end in these letters and digits, hyphens passed over; in order."""
        plain = func.replace(_UNIT.serial, "-", "")
        asked = select(_UNIT.serial).where(plain.endswith(end, autoescape=True)).order_by(_UNIT.serial)
        return tuple(self._connection.execute(asked).scalars())

    def totals(self) -> tuple[int, int]:
        """How many units there are, and how many entries they have together, as noted with the units."""
        asked = select(func.count(), func.coalesce(func.sum(_UNIT.entries), 0)).select_from(tables.unit_table)
        units, entries = self._connection.execute(asked).one()
        return int(units), int(entries)

    def rows(self, serial: str) -> tuple[StoredRow, ...]:
        """The unit's entries as stored, in order; bytes that are no text come back as half characters."""
        return undecoded(
            self._connection,
            lambda: tuple(StoredRow(*row) for row in self._connection.execute(_ROWS, {"serial": serial})),
        )

    def references(self, serial: str) -> tuple[tuple[int, str, str], ...]:
        """What the unit's entries refer to, as stored: (seq, kind, value), in order."""
        asked = select(_REF.seq, _REF.kind, _REF.value).where(_REF.unit == serial)
        asked = asked.order_by(_REF.seq, _REF.kind, _REF.value)
        return undecoded(
            self._connection, lambda: tuple(tuple(row) for row in self._connection.execute(asked))
        )

    def entries(self, serial: str) -> tuple[Entry, ...]:
        """The unit's entries in order; empty for a serial that was never issued.

        Raises:
            StoreDamaged: one cannot be read as an entry.
        """
        return tuple(to_entry(row) for row in self.rows(serial))

    def definition(self, product: str, revision: str) -> IssuedDefinition | None:
        """The definition issued under this product and revision, or None."""
        columns = tables.definition_table.c
        found = (product, revision), (columns.product == product, columns.revision == revision)
        return self._definition(*found)

    def definition_of(self, digest: str) -> IssuedDefinition | None:
        """The issued definition of this digest, or None."""
        return self._definition((digest,), (tables.definition_table.c.digest == digest,))

    def revisions(self, product: str) -> tuple[IssuedDefinition, ...]:
        """Every revision of the product that was issued, in the order of first issue."""
        columns = tables.definition_table.c
        asked = select(tables.definition_table).where(columns.product == product)
        rows = self._connection.execute(asked.order_by(columns.first_issued, columns.revision))
        return tuple(IssuedDefinition(*row) for row in rows)

    def where_used(self, kind: str, value: str) -> tuple[Entry, ...]:
        """Entries that refer to this gauge, lot, part_serial, person, customer or order; by unit and seq.

        Struck entries are among them: ask :func:`traveler.record.entry.standing_entries` over the
        unit's entries.
        """
        asked = {"kind": kind, "value": reference_value(value)}
        return tuple(to_entry(StoredRow(*row)) for row in self._connection.execute(_WHERE_USED, asked))

    def values(self, kind: str) -> tuple[str, ...]:
        """The gauges, lots, part serials, people, customers or orders that entries refer to."""
        asked = select(_REF.value).where(_REF.kind == kind).distinct().order_by(_REF.value)
        return tuple(self._connection.execute(asked).scalars())

    def units_using(self, kind: str, value: str) -> tuple[Unit, ...]:
        """Units with an entry that refers to this value, by serial."""
        asked = select(_REF.unit).where(_REF.kind == kind, _REF.value == reference_value(value))
        named = select(tables.unit_table).where(_UNIT.serial.in_(asked)).order_by(_UNIT.serial)
        return tuple(_unit(row) for row in self._connection.execute(named))

    def entries_of_kinds(self, serials: Iterable[str], kinds: Iterable[str]) -> tuple[Entry, ...]:
        """The entries of these kinds of these units, by unit and seq: a few steps of many units' lives.

        Other entries of the units are not read, however many there are. Nothing is held.

        Raises:
            StoreDamaged: one cannot be read as an entry.
        """
        wanted, named = sorted(set(kinds)), sorted(set(serials))
        asked = select(tables.entry_table).where(_ENTRY.kind.in_(wanted)).order_by(_ENTRY.unit, _ENTRY.seq)
        pieces = (named[at : at + _AT_ONCE] for at in range(0, len(named), _AT_ONCE))
        return tuple(
            to_entry(row)
            for piece in pieces
            for row in _kept(self._connection, asked.where(_ENTRY.unit.in_(piece)))
        )

    def stopped_units(self) -> tuple[Unit, ...]:
        """Units that were ever stopped, whole or at a slot, by serial."""
        asked = select(_ENTRY.unit).where(_ENTRY.kind == "stopped", tables.RARE)
        named = select(tables.unit_table).where(_UNIT.serial.in_(asked)).order_by(_UNIT.serial)
        return tuple(_unit(row) for row in self._connection.execute(named))

    def clock(self) -> datetime:
        """The present moment by the clock of the database: one for all computers that share it."""
        if self.dialect == "postgresql":
            asked = text("SELECT clock_timestamp() AT TIME ZONE 'UTC'")
            moment: datetime = self._connection.execute(asked).scalar_one()
            return moment.replace(tzinfo=UTC)
        return datetime.now(UTC)

    def pin_trials(self) -> dict[str, PinTrials]:
        """Person → the trials of their PIN that count, for those who have any."""
        rows = self._connection.execute(select(tables.pin_trial))
        return {row.person: PinTrials(row.failures, row.last) for row in rows if row.failures}

    def fitted_elsewhere(
        self, serial: str, parts: Iterable[tuple[str | None, str]]
    ) -> dict[tuple[str | None, str], str]:
        """(part number, part serial) → another unit it is fitted in now; absent if in none.

        A part counts as fitted where it is the last one standing in its slot.
        """
        found: dict[tuple[str | None, str], str] = {}
        for number, value in parts:
            others = {entry.unit for entry in self.where_used("part_serial", value)} - {serial}
            for other in sorted(others):
                if (number, reference_value(value)) in self._fitted_now(other):
                    found[number, value] = other
                    break
        return found

    def seen(self, digest: str, serial: str) -> bool:
        """Whether the file of this SHA-256 was recorded for this unit before."""
        columns = tables.seen_file.c
        asked = select(columns.digest).where(columns.digest == digest, columns.unit == serial)
        return self._connection.execute(asked).first() is not None

    def attachment(self, digest: str) -> Attachment | None:
        """What is known of the attachment of this SHA-256, or None."""
        return next(self._attachments(tables.attachment.c.digest == digest), None)

    def attachments(self) -> tuple[Attachment, ...]:
        """Every attachment, by SHA-256."""
        return tuple(self._attachments())

    def _attachments(self, *conditions: Any) -> Iterator[Attachment]:
        columns = tables.attachment.c
        asked = select(columns.digest, columns.name, columns.media_type, columns.size).order_by(
            columns.digest
        )
        return (Attachment(*row) for row in self._connection.execute(asked.where(*conditions)))

    def _fitted_now(self, serial: str) -> set[tuple[str | None, str]]:
        entries = Records.entries(self, serial)  # a look at another unit, which a job does not hold for it
        last = {
            entry.slot: (entry.body.number, reference_value(entry.body.value))
            for entry in sorted(standing_entries(entries), key=done_order)
            if isinstance(entry.body, Fitted) and entry.body.trace == "serial"
        }
        return set(last.values())

    def _definition(self, key: tuple[str, ...], conditions: tuple[Any, ...]) -> IssuedDefinition | None:
        """Asked once in a view: many units are built to one definition, which never changes."""
        if key not in self._definitions:
            row = self._connection.execute(select(tables.definition_table).where(*conditions)).one_or_none()
            if row is None:
                return None
            self._definitions[key] = IssuedDefinition(*row)
        return self._definitions[key]


def _kept(connection: Connection, asked: Select[Any]) -> Iterator[StoredRow]:
    return (StoredRow(*row) for row in connection.execute(asked))


def _unit(row: Row[Any]) -> Unit:
    unit = Unit(*tuple(row))
    if not isinstance(unit.entries, int) or not isinstance(unit.head, str):
        what = f"the records of {unit.serial} do not say where they end"
        raise StoreDamaged(what, "run 'traveler records verify' and restore a backup")
    return unit
