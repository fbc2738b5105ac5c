"""Connections to SQLite and PostgreSQL: safe settings, clear errors, undecoded bytes."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import URL, Connection, Engine, StaticPool, create_engine, event, make_url
from sqlalchemy.exc import (
    ArgumentError,
    DataError,
    DBAPIError,
    NoSuchModuleError,
    OperationalError,
    SQLAlchemyError,
)

from traveler.record.errors import (
    NotStorable,
    StoreBusy,
    StoreDamaged,
    StoreError,
    StoreFull,
    StoreUnreachable,
)

NETWORK = frozenset({
    "nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "afs", "ncpfs", "ceph", "glusterfs", "fuse.sshfs",
    "fuse.glusterfs",
})  # fmt: skip
"""File system names, as the Linux kernel gives them, behind which there is another computer."""

_MOUNTS = Path("/proc/self/mounts")


def network_file_system(file: Path, mounts: Path = _MOUNTS) -> str | None:
    """The network file system the file lies on; None for a local disk, or where that is not known."""
    try:
        lines = mounts.read_text(errors="replace").splitlines()
    except OSError:
        return None
    real = file.resolve()
    best = ("", "")
    for line in lines:
        _device, point, kind, *_rest = (*line.split(" "), "", "")
        point = point.replace("\\040", " ")
        if real.is_relative_to(point or "-") and len(point) >= len(best[0]):
            best = (point, kind)
    return best[1] if best[1] in NETWORK else None


_UNREACHABLE = "check that the server runs, and the address, user and password in the shop's settings"
_FOLDER = "check that the folder exists and that you may write in it"
_FULL = "free some space and do it again; nothing was half written"
_VALUES = "use characters that are text, and numbers of ordinary size"
_BACKUP = "make a copy of the file as it is, then restore the last backup"

_SQLITE: tuple[tuple[str, type[StoreError], str, str], ...] = (
    ("database or disk is full", StoreFull, "the disk of the records is full", _FULL),
    ("disk i/o error", StoreFull, "the disk of the records is full or failing", _FULL),
    ("locked", StoreBusy, "another program is writing to the records", "nothing was changed; do it again"),
    ("unable to open", StoreUnreachable, "the records cannot be opened", _FOLDER),
    ("readonly", StoreUnreachable, "the records cannot be written to", _FOLDER),
    ("not a database", StoreDamaged, "this file does not hold records", _BACKUP),
    ("malformed", StoreDamaged, "the file of the records is damaged", _BACKUP),
    ("could not decode", StoreDamaged, "the records hold bytes that are not text", _BACKUP),
)
"""Words in SQLite's messages (codes SQLITE_FULL, _IOERR, _BUSY, _CANTOPEN, _READONLY, _NOTADB, _CORRUPT)."""

_POSTGRES: tuple[tuple[str, type[StoreError], str, str], ...] = (
    ("53100", StoreFull, "the disk of the database server is full", _FULL),
    ("40", StoreBusy, "another program was writing the same records", "nothing was changed; do it again"),
    ("55P03", StoreBusy, "another program is writing to the records", "nothing was changed; do it again"),
    ("53300", StoreBusy, "the database server has too many connections", "wait a moment and do it again"),
    ("42501", StoreUnreachable, "this user may not do that in the database", _UNREACHABLE),
    ("3D000", StoreUnreachable, "there is no database of this name", _UNREACHABLE),
    ("28", StoreUnreachable, "the database server refuses this user or password", _UNREACHABLE),
    ("08", StoreUnreachable, "the connection to the database server was lost", _UNREACHABLE),
    ("57P", StoreUnreachable, "the database server was shut down", _UNREACHABLE),
    ("XX", StoreDamaged, "the database is damaged", _BACKUP),
)
"""SQLSTATE codes or their beginnings (PostgreSQL documentation, appendix A), first fit counts."""


@contextmanager
def clear_errors(url: URL) -> Iterator[None]:
    """Turns database errors inside the block into a :class:`StoreError` that names the store."""
    try:
        yield
    except DBAPIError as problem:
        raise _store_error(problem, url) from problem
    except (UnicodeEncodeError, OverflowError) as problem:
        raise NotStorable(f"this cannot be stored: {problem}", _VALUES) from problem
    except SQLAlchemyError as problem:
        raise _error(StoreError, "the records cannot be used", str(problem), url, _UNREACHABLE) from problem


def _store_error(problem: DBAPIError, url: URL) -> StoreError:
    message = str(problem.orig)
    if isinstance(problem, DataError):
        return _error(NotStorable, "this cannot be stored", message, url, _VALUES)
    if url.get_backend_name() == "sqlite":
        fits = (row for row in _SQLITE if row[0] in message.lower())
    else:
        code = getattr(problem.orig, "sqlstate", None)
        if code is None:
            what = "the database server cannot be reached"
            return _error(StoreUnreachable, what, message, url, _UNREACHABLE)
        fits = (row for row in _POSTGRES if code.startswith(row[0]))
    for _mark, kind, what, hint in fits:
        return _error(kind, what, message, url, hint)
    return _error(StoreError, "the database refused that", message, url, _BACKUP)


def _error(kind: type[StoreError], what: str, message: str, url: URL, hint: str) -> StoreError:
    """One line, the password never in it."""
    where = url.render_as_string(hide_password=True)
    first = next(iter(message.strip().splitlines()), "")
    return kind(f"{what}: {where} ({first})", hint)


Result = TypeVar("Result")


def undecoded(connection: Connection, ask: Callable[[], Result]) -> Result:
    """What ``ask`` gives; asked again, leniently, where SQLite holds bytes that are no UTF-8."""
    try:
        return ask()
    except OperationalError as problem:
        driver = connection.connection.dbapi_connection
        if "decode" not in str(problem.orig).lower() or not isinstance(driver, sqlite3.Connection):
            raise
        driver.text_factory = lambda content: content.decode(errors="surrogateescape")
        try:
            return ask()
        finally:
            driver.text_factory = str


WAIT_SECONDS = 30
"""How long a writer waits for another one."""

WRITES = "traveler_writes"
"""Execution option of a connection whose transaction writes."""

_FORMS = "write sqlite:///records.db or postgresql+psycopg://user@server/name"


def database_address(url: str, folder: Path | None = None) -> URL:
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
        StoreError: the disk does not allow one.
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
        raise StoreError(what, "keep the database on a local disk")


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get(WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
