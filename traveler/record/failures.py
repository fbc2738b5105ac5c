"""From a database's error to one sentence that says what happened and what to do."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import URL
from sqlalchemy.exc import DataError, DBAPIError, SQLAlchemyError

from traveler.record.trouble import (
    NotKept,
    StoreBusy,
    StoreDamaged,
    StoreFull,
    StoreTrouble,
    StoreUnreachable,
)

_UNREACHABLE = "check that the server runs, and the address, user and password in the shop's settings"
_FOLDER = "check that the folder exists and that you may write in it"
_FULL = "free some space and do it again; nothing was half written"
_VALUES = "use characters that are text, and numbers of ordinary size"
_BACKUP = "make a copy of the file as it is, then restore the last backup"

_SQLITE: tuple[tuple[str, type[StoreTrouble], str, str], ...] = (
    ("database or disk is full", StoreFull, "the disk of the records is full", _FULL),
    ("disk i/o error", StoreFull, "the disk of the records does not take any more (full, or failing)", _FULL),
    ("locked", StoreBusy, "somebody else is writing to the records", "nothing was changed; do it again"),
    ("unable to open", StoreUnreachable, "the records cannot be opened", _FOLDER),
    ("readonly", StoreUnreachable, "the records cannot be written to", _FOLDER),
    ("not a database", StoreDamaged, "this file does not hold records", _BACKUP),
    ("malformed", StoreDamaged, "the file of the records is damaged", _BACKUP),
    ("could not decode", StoreDamaged, "the records hold text that is none", _BACKUP),
)
"""Words in SQLite's messages (codes SQLITE_FULL, _IOERR, _BUSY, _CANTOPEN, _READONLY, _NOTADB, _CORRUPT)."""

_POSTGRES: tuple[tuple[str, type[StoreTrouble], str, str], ...] = (
    ("53100", StoreFull, "the disk of the database server is full", _FULL),
    ("40", StoreBusy, "somebody else was writing the same records", "nothing was changed; do it again"),
    ("55P03", StoreBusy, "somebody else is writing to the records", "nothing was changed; do it again"),
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
    """Turns database errors inside the block into a :class:`StoreTrouble` that names the store."""
    try:
        yield
    except DBAPIError as problem:
        raise _trouble(problem, url) from problem
    except (UnicodeEncodeError, OverflowError) as problem:
        raise NotKept(f"this cannot be stored: {problem}", _VALUES) from problem
    except SQLAlchemyError as problem:
        raise _told(StoreTrouble, "the records cannot be used", str(problem), url, _UNREACHABLE) from problem


def _trouble(problem: DBAPIError, url: URL) -> StoreTrouble:
    message = str(problem.orig)
    if isinstance(problem, DataError):
        return _told(NotKept, "this cannot be stored", message, url, _VALUES)
    if url.get_backend_name() == "sqlite":
        fits = (row for row in _SQLITE if row[0] in message.lower())
    else:
        code = getattr(problem.orig, "sqlstate", None)
        if code is None:
            what = "the database server cannot be reached"
            return _told(StoreUnreachable, what, message, url, _UNREACHABLE)
        fits = (row for row in _POSTGRES if code.startswith(row[0]))
    for _mark, kind, what, hint in fits:
        return _told(kind, what, message, url, hint)
    return _told(StoreTrouble, "the database refused that", message, url, _BACKUP)


def _told(kind: type[StoreTrouble], what: str, message: str, url: URL, hint: str) -> StoreTrouble:
    """One line, the password never in it."""
    where = url.render_as_string(hide_password=True)
    first = next(iter(message.strip().splitlines()), "")
    return kind(f"{what}: {where} ({first})", hint)
