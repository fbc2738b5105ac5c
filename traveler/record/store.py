"""The store: opened by address, then read or written in transactions."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, Table, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite

from traveler.record import chain, tables
from traveler.record import tables as schema
from traveler.record.attachments import Attachment, AttachmentFolder, attachment_folder
from traveler.record.engine import WRITES, clear_errors, database_address, open_engine, sqlite_file
from traveler.record.entry import Draft, Entry, Issued, entry_references
from traveler.record.errors import NoSuchUnit, SerialTaken, StoreUnreachable
from traveler.record.records import DefinitionDiffers, IssuedDefinition, PinTrials, Records, Unit
from traveler.record.stored import StoredRow, refuse_unstorable, to_entry


class Transaction(Records):
    """What may be done to a store, besides asking. Looking at a unit here holds it until the end.

    So what a job reads of a unit is still true when it appends to it, however many write at once. A job that
    touches several units names them first in :meth:`hold`, so that two such jobs do not wait for each other.
    """

    def __init__(self, connection: Connection, attachments: Path | None = None) -> None:
        super().__init__(connection)
        self._folder = attachments
        self._held: set[str] = set()
        self.abandoned = False

    def abandon(self) -> None:
        """Nothing of this transaction is to be kept; it ends without an error and without a change."""
        self.abandoned = True

    def hold(self, *serials: str) -> None:
        """Waits until nobody else writes to these units and keeps others off them until the end."""
        for serial in sorted(set(serials) - self._held):
            locked = (
                select(tables.unit_table.c.serial)
                .where(tables.unit_table.c.serial == serial)
                .with_for_update()
            )
            self._connection.execute(locked)
            self._held.add(serial)

    def unit(self, serial: str) -> Unit | None:
        """The unit of this serial, held until the end of the transaction, or None."""
        self.hold(serial)
        return super().unit(serial)

    def entries(self, serial: str) -> tuple[Entry, ...]:
        """The unit's entries in order; the unit is held until the end of the transaction."""
        self.hold(serial)
        return super().entries(serial)

    def put_definition(self, asked: IssuedDefinition) -> IssuedDefinition | DefinitionDiffers:
        """Freezes the definition, or gives back the one kept before; another content is refused.

        Raises:
            ValueError: the digest is not that of the content.
        """
        if hashlib.sha256(asked.content.encode()).hexdigest() != asked.digest:
            msg = "the digest is not that of the content"
            raise ValueError(msg)
        self._add_once(tables.definition_table, asdict(asked))
        kept = self.definition(asked.product, asked.revision)
        if kept is None or kept.digest != asked.digest:
            return DefinitionDiffers(kept or asked, asked.digest)
        return kept

    def issue(self, draft: Draft, now: datetime) -> Entry:
        """Makes the unit that an ``issued`` draft speaks of, and appends the draft as its first entry.

        Raises:
            SerialTaken: there is a unit of this serial.
            ValueError: the draft is of another kind.
        """
        body = draft.body
        if not isinstance(body, Issued):
            msg = f"a unit begins with an entry 'issued', not '{body.kind}'"
            raise ValueError(msg)
        refuse_unstorable(draft.unit)
        if not self._add_once(tables.unit_table, _made(draft.unit, body, draft.at)):
            what = f"the serial {draft.unit} was given before"
            raise SerialTaken(what, "take the next number; a serial is never given twice")
        return self.append(draft, now)

    def append(self, draft: Draft, now: datetime) -> Entry:
        """Appends one entry to its unit's chain; see :meth:`append_all`."""
        return self.append_all([draft], now)[0]

    def append_all(self, drafts: Iterable[Draft], now: datetime) -> tuple[Entry, ...]:
        """Appends entries in this order, with what they refer to; gives them as kept.

        Raises:
            NoSuchUnit: one names a unit that was never issued.
            NotStorable: one has no exact stored form.
        """
        asked = list(drafts)
        self.hold(*(draft.unit for draft in asked))
        ends: dict[str, tuple[int, str]] = {}
        rows: list[StoredRow] = []
        for draft in asked:
            seq, previous = ends.get(draft.unit) or self._end(draft.unit)
            row = chain.link_row(draft, seq + 1, previous, now)
            ends[draft.unit] = (row.seq, row.hash)
            rows.append(row)
        self._write(rows, asked, ends)
        return tuple(to_entry(row) for row in rows)

    def adopt(self, rows: Sequence[StoredRow], state: str) -> int:
        """Takes over the chain of a unit as it was written elsewhere, byte for byte; gives how many entries.

        ``rows`` is the whole chain, verified, beginning with the issue. Where the unit is here already only
        what its chain lacks is added.

        Raises:
            ValueError: the chain kept here is not the beginning of ``rows``.
        """
        first = to_entry(rows[0])
        serial, issued = first.unit, first.body
        self.hold(serial)
        unit = super().unit(serial)
        if unit is None and isinstance(issued, Issued):
            self._add_once(tables.unit_table, _made(serial, issued, first.at))
        have = 0 if unit is None else unit.entries
        if not isinstance(issued, Issued) or (
            unit is not None and (have > len(rows) or rows[have - 1].hash != unit.head)
        ):
            msg = "the chain that is kept is not the beginning of the one to be taken over"
            raise ValueError(msg)
        new = list(rows[have:])
        if new:
            self._write(new, [to_entry(row) for row in new], {serial: (new[-1].seq, new[-1].hash)})
            self.set_state(serial, state)
        return len(new)

    def set_state(self, serial: str, state: str) -> None:
        """Notes the unit's state, as text, together with the entry that changed it."""
        self.hold(serial)
        noted = update(tables.unit_table).where(tables.unit_table.c.serial == serial).values(state=state)
        self._connection.execute(noted)

    def next_number(self, key: str) -> int:
        """The next number of this counter, from 1; given to nobody else unless this transaction is undone."""
        last = tables.counter.c.last
        counted = self._insert(tables.counter).values(key=key, last=1)
        counted = counted.on_conflict_do_update(index_elements=["key"], set_={"last": last + 1})
        return int(self._connection.execute(counted.returning(last)).scalar_one())

    def mark_seen(self, digest: str, serial: str, now: datetime) -> None:
        """Notes that the file of this SHA-256 was recorded for this unit."""
        self._add_once(tables.seen_file, {"digest": digest, "unit": serial, "seen": now})

    def use_token(self, token: str, now: datetime) -> bool:
        """Whether this one-time form token is used for the first time."""
        refuse_unstorable(token)
        return self._add_once(tables.form_token, {"token": token, "used": now})

    def hold_pin_trials(self, person: str, now: datetime) -> PinTrials:
        """The trials of this person's PIN; nobody else counts any until the end of the transaction."""
        refuse_unstorable(person)
        self._add_once(tables.pin_trial, {"person": person, "failures": 0, "last": now})
        columns = tables.pin_trial.c
        asked = select(columns.failures, columns.last).where(columns.person == person).with_for_update()
        return PinTrials(*self._connection.execute(asked).one())

    def note_pin_trials(self, person: str, trials: PinTrials) -> None:
        """Notes how many trials of a PIN count now; :meth:`hold_pin_trials` comes first."""
        noted = update(tables.pin_trial).where(tables.pin_trial.c.person == person)
        self._connection.execute(noted.values(failures=trials.failures, last=trials.last))

    def keep_file(self, attachment: Attachment, content: bytes, now: datetime) -> None:
        """Keeps a photograph or document: its bytes first, so that no note is without its file.

        A file that is kept already is noted once; its bytes come back where they were lost.

        Raises:
            StoreFull, StoreUnreachable: the bytes cannot be written.
        """
        refuse_unstorable(attachment.name)
        attachment_folder(self._folder).put(content)
        self._add_once(tables.attachment, {**asdict(attachment), "added": now})

    def _end(self, serial: str) -> tuple[int, str]:
        unit = super().unit(serial)
        if unit is None:
            what = f"there is no unit {serial}"
            raise NoSuchUnit(what, "check the serial; 'traveler trace' lists units")
        return unit.entries, unit.head

    def _write(
        self, rows: list[StoredRow], drafts: Sequence[Draft], ends: dict[str, tuple[int, str]]
    ) -> None:
        if not rows:
            return
        pairs = []
        for row, draft in zip(rows, drafts, strict=True):
            for kind, value in entry_references(draft):
                refuse_unstorable(value)
                pairs.append({"kind": kind, "value": value, "unit": row.unit, "seq": row.seq})
        self._connection.execute(insert(tables.entry_table), [asdict(row) for row in rows])
        self._connection.execute(insert(tables.reference_table), pairs)
        for serial, (seq, head) in ends.items():
            ended = update(tables.unit_table).where(tables.unit_table.c.serial == serial)
            self._connection.execute(ended.values(entries=seq, head=head))

    def _insert(self, table: Table) -> sqlite.Insert | postgresql.Insert:
        """An INSERT that knows ON CONFLICT, of the database at hand."""
        if self._connection.dialect.name == "postgresql":
            return postgresql.insert(table)
        return sqlite.insert(table)

    def _add_once(self, table: Table, values: dict[str, Any]) -> bool:
        """Adds the row unless one with its key is there; whether it was added."""
        added = self._insert(table).values(values).on_conflict_do_nothing()
        return self._connection.execute(added.returning(*table.primary_key)).first() is not None


def _made(serial: str, issued: Issued, at: datetime) -> dict[str, Any]:
    """The row of a new unit."""
    return {
        "serial": serial, "product": issued.product, "revision": issued.revision, "variant": issued.variant,
        "digest": issued.digest, "issued": at, "order_reference": issued.order,
        "quantity": issued.quantity, "state": "issued", "entries": 0, "head": chain.GENESIS,
    }  # fmt: skip


class Store:
    """The records of a shop. Every method may raise a :class:`traveler.record.errors.StoreError`."""

    def __init__(self, url: URL, engine: Engine, attachments: Path | None = None) -> None:
        self.url = url
        self._engine = engine
        self._attachments = attachments

    @classmethod
    def open(
        cls, url: str, *, folder: Path | None = None, create: bool = True, attachments: Path | None = None
    ) -> Store:
        """The store at this address, its tables brought up to date; made if it is not there and ``create``.

        A relative SQLite path is taken from ``folder`` (default: where the program was started).
        ``attachments`` is the folder for kept files (default: beside the SQLite file, else in ``folder``).

        Raises:
            StoreUnreachable: it cannot be opened, or is not there and ``create`` is false.
            StoreNewer: a newer version of this program wrote it.
        """
        where = database_address(url, folder)
        file = sqlite_file(where)
        if file is not None and not create and not file.exists():
            what = f"there are no records at {file}"
            raise StoreUnreachable(what, "check the address in the shop's settings")
        engine = open_engine(where)
        try:
            with clear_errors(where):
                schema.prepare(engine, create=create)
        except BaseException:
            engine.dispose()
            raise
        beside = file.parent if file is not None else folder
        return cls(where, engine, attachments or (beside / "attachments" if beside is not None else None))

    @property
    def keeps_attachments(self) -> bool:
        """Whether it was said where photographs and documents are kept."""
        return self._attachments is not None

    @property
    def attachments(self) -> AttachmentFolder:
        """Where photographs and documents are kept.

        Raises:
            StoreUnreachable: it was not said where, and there is no database file to put them beside.
        """
        return attachment_folder(self._attachments)

    @property
    def name(self) -> str:
        """The address as it may be shown: without a password."""
        return self.url.render_as_string(hide_password=True)

    @contextmanager
    def transaction(self) -> Iterator[Transaction]:
        """A transaction that writes: kept as a whole when the block ends, undone as a whole if it raises.

        When this returns the disk has it.
        """
        with clear_errors(self.url), self._engine.connect() as opened:
            connection = opened.execution_options(**{WRITES: True})
            with connection.begin() as begun:
                work = Transaction(connection, self._attachments)
                yield work
                if work.abandoned:
                    begun.rollback()

    @contextmanager
    def reading(self) -> Iterator[Records]:
        """A transaction that only reads: one view of the records, unmoved by others' writing."""
        with clear_errors(self.url), self._engine.connect() as opened:
            connection = opened
            if self._engine.dialect.name == "postgresql":
                connection = opened.execution_options(
                    isolation_level="REPEATABLE READ", postgresql_readonly=True
                )
            with connection.begin():
                yield Records(connection)

    def close(self) -> None:
        """Lets go of every connection."""
        self._engine.dispose()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
