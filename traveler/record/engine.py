"""Connections to SQLite and PostgreSQL, set up so that what is committed is on disk and nothing is lost.

SQLite: write-ahead log, full synchronisation, foreign keys and recursive triggers on (without the latter
``INSERT OR REPLACE`` slips past the append-only triggers), and every writing transaction begins at once
(``BEGIN IMMEDIATE``), so that two writers queue instead of one losing.
PostgreSQL: writing transactions lock the rows of the units they touch; reading ones see one snapshot.
"""

from __future__ import annotations

import sqlite3
import time
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, StaticPool, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError

from traveler.record.local_disk import network_file_system
from traveler.record.trouble import StoreTrouble, StoreUnreachable

WAIT_SECONDS = 30
"""How long a writer waits for another one."""

WRITES = "traveler_writes"
"""Execution option of a connection whose transaction writes."""

_FORMS = "write sqlite:///records.db or postgresql+psycopg://user@server/name"


def address(url: str, folder: Path | None = None) -> URL:
    """The address as understood: PostgreSQL through psycopg, a relative SQLite path taken from ``folder``.

    Raises:
        StoreUnreachable: it is not an address, or of a database we do not use.
    """
    try:
        parsed = make_url(url)
    except ArgumentError as problem:
        what = f"this is not the address of a database: {url}"
        raise StoreUnreachable(what, _FORMS) from problem
    if parsed.drivername in ("postgresql", "postgres", "postgresql+psycopg"):
        return parsed.set(drivername="postgresql+psycopg")
    if parsed.drivername not in ("sqlite", "sqlite+pysqlite"):
        what = f"records are kept in SQLite or PostgreSQL, not in {parsed.drivername}"
        raise StoreUnreachable(what, _FORMS)
    if folder is not None and sqlite_file(parsed) is not None:
        return parsed.set(database=str(folder / str(parsed.database)))
    return parsed


def sqlite_file(url: URL) -> Path | None:
    """The file of a SQLite address; None for PostgreSQL and for a store in memory."""
    if url.get_backend_name() != "sqlite" or url.database in (None, "", ":memory:"):
        return None
    return Path(str(url.database))


def open_engine(url: URL) -> Engine:
    """An engine for the address; nothing is connected yet.

    Raises:
        StoreUnreachable: a SQLite file on a network share, or the PostgreSQL driver is not installed.
    """
    if url.get_backend_name() == "sqlite":
        return _sqlite(url)
    try:
        return create_engine(url, connect_args={"connect_timeout": 10}, pool_pre_ping=True)
    except (ModuleNotFoundError, NoSuchModuleError) as problem:
        what = "the driver for PostgreSQL is not installed"
        raise StoreUnreachable(what, "install it: pip install 'traveler[postgres]'") from problem


def _sqlite(url: URL) -> Engine:
    file = sqlite_file(url)
    if file is not None and (share := network_file_system(file)):
        what = f"{file} lies on a network share ({share}), where SQLite loses data"
        raise StoreUnreachable(what, "keep it on a local disk, or use PostgreSQL for several computers")
    arguments: dict[str, Any] = {"connect_args": {"timeout": WAIT_SECONDS, "check_same_thread": False}}
    if file is None:
        arguments["poolclass"] = StaticPool
    engine = create_engine(url, **arguments)
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(connection: sqlite3.Connection, _record: object) -> None:
    """Settings of every SQLite connection."""
    connection.isolation_level = None  # transactions are begun by _begin_sqlite, never by the driver
    for setting in ("foreign_keys=ON", "recursive_triggers=ON", "synchronous=FULL"):
        connection.execute(f"PRAGMA {setting}")
    _write_ahead(connection)


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Switch the write-ahead log on; SQLite does not wait for that by itself, so we do.

    Raises:
        StoreTrouble: the disk does not allow one.
    """
    until = time.monotonic() + WAIT_SECONDS
    while True:
        try:
            (mode,) = connection.execute("PRAGMA journal_mode=WAL").fetchone()
            break
        except sqlite3.OperationalError as problem:
            if "locked" not in str(problem) or time.monotonic() > until:
                raise
            time.sleep(0.01)
    if mode not in ("wal", "memory"):
        what = f"SQLite cannot keep a write-ahead log here (it answers '{mode}')"
        raise StoreTrouble(what, "keep the database on a local disk")


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get(WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
