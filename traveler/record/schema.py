"""The version of the store's tables: created, brought up to date, or refused when it is newer than we are."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from traveler.record.engine import WRITES
from traveler.record.trouble import StoreNewer, StoreUnreachable

VERSIONS = ("0001", "0002", "0003")
"""Every version there was, oldest first; a test holds this against the migrations."""

CURRENT = VERSIONS[-1]
MIGRATIONS = Path(__file__).parent / "migrations"

_LOCK = 7_268_611_337
"""PostgreSQL advisory lock under which a store is made or brought up to date: any number, but one."""


def prepare(engine: Engine, *, create: bool = True) -> None:
    """Brings the store to the current version; does nothing, quickly, where it is there already.

    Raises:
        StoreNewer: a newer program wrote it.
        StoreUnreachable: there is no store and ``create`` is false.
    """
    with engine.connect() as connection:
        version = stored_version(connection)
    if version == CURRENT:
        return
    if version is None and not create:
        where = engine.url.render_as_string(hide_password=True)
        raise StoreUnreachable(f"there are no records at {where}", "check the address in the shop's settings")
    _upgrade(engine)


def stored_version(connection: Connection) -> str | None:
    """The version of the tables in this database; None where there are none yet.

    Raises:
        StoreNewer: it is none we know.
    """
    if not inspect(connection).has_table("alembic_version"):
        return None
    version = connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one_or_none()
    if version is not None and version not in VERSIONS:
        what = f"a newer traveler wrote these records (tables {version}; this one knows up to {CURRENT})"
        raise StoreNewer(what, "update traveler on this computer; nothing was changed")
    return None if version is None else str(version)


def _upgrade(engine: Engine) -> None:
    """All steps in one transaction; whoever comes second waits and finds nothing left to do."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    with engine.connect().execution_options(**{WRITES: True}) as connection:
        sqlite = engine.dialect.name == "sqlite"
        if sqlite:  # a table that is rebuilt must not drag its rows' references along; checked below
            _set_foreign_keys(connection, on=False)
        try:
            with connection.begin():
                if not sqlite:
                    connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _LOCK})
                stored_version(connection)
                config.attributes["connection"] = connection
                command.upgrade(config, "head")
        finally:
            if sqlite:
                _set_foreign_keys(connection, on=True)


def _set_foreign_keys(connection: Connection, *, on: bool) -> None:
    """On the raw connection: inside a transaction SQLite ignores the setting."""
    driver = connection.connection.dbapi_connection
    if driver is not None:
        driver.cursor().execute(f"PRAGMA foreign_keys={'ON' if on else 'OFF'}")
