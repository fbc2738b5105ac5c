"""The store: opened by address, then read or written in transactions."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import URL, Engine

from traveler.record import schema
from traveler.record.attachments import AttachmentFolder
from traveler.record.engine import WRITES, address, open_engine, sqlite_file
from traveler.record.failures import clear_errors
from traveler.record.records import Records
from traveler.record.transaction import Transaction
from traveler.record.trouble import StoreUnreachable


class Store:
    """The records of a shop. Every method may raise a :class:`traveler.record.trouble.StoreTrouble`."""

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
        where = address(url, folder)
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
        if self._attachments is None:
            what = "there is no folder for attachments"
            raise StoreUnreachable(what, "name one when opening a store that is not a file")
        return AttachmentFolder(self._attachments)

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
                work = Transaction(connection)
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
