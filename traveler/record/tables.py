"""The tables of the store, the same on SQLite and PostgreSQL, and their version."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import (
    CheckConstraint,
    Column,
    Connection,
    Engine,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    Text,
    inspect,
    text,
)

from traveler.record.engine import WRITES
from traveler.record.errors import StoreNewer, StoreUnreachable
from traveler.record.stored import UtcText, key_text

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)

definition_table = Table(
    "definition",
    metadata,
    Column("product", key_text(), nullable=False),
    Column("revision", key_text(), nullable=False),
    Column("digest", key_text(), nullable=False, unique=True),
    Column("content", Text, nullable=False),
    Column("first_issued", UtcText, nullable=False),
    PrimaryKeyConstraint("product", "revision"),
)
"""A definition as issued: canonical JSON text and its SHA-256, frozen with the first unit built to it."""

unit_table = Table(
    "unit",
    metadata,
    Column("serial", key_text(), primary_key=True),
    Column("product", key_text(), nullable=False),
    Column("revision", key_text(), nullable=False),
    Column("variant", key_text(), nullable=False),
    Column("digest", key_text(), ForeignKey("definition.digest"), nullable=False),
    Column("issued", UtcText, nullable=False),
    Column("order_reference", key_text()),
    Column("quantity", Integer),
    Column("state", key_text(), nullable=False),
    Column("entries", Integer, nullable=False),
    Column("head", key_text(), nullable=False),
    CheckConstraint("entries >= 0", name="entries_counted"),
    Index(None, "product", "issued"),
    Index(None, "state", "issued"),
    Index(None, "order_reference"),
    Index(None, "digest"),
)
"""A unit or a lot of parts; ``entries`` and ``head`` say where its chain ends."""

RARE = text("kind NOT IN ('confirmed', 'fitted', 'packed', 'read', 'signed', 'ticked')")
"""All but the daily kinds of entries. Add it to a question about rarer ones: by its own words, and only by
them, a database sees that the short index holds the answer. A kind that is added later is a rare one."""

WRITTEN = text("slot IS NOT NULL")
"""Entries of a slot."""

entry_table = Table(
    "entry",
    metadata,
    Column("unit", key_text(), ForeignKey("unit.serial"), nullable=False),
    Column("seq", Integer, nullable=False),
    Column("at", key_text(), nullable=False),
    Column("recorded", key_text(), nullable=False),
    Column("by", key_text(), nullable=False),
    Column("slot", key_text()),
    Column("zone", key_text()),
    Column("source", key_text(), nullable=False),
    Column("kind", key_text(), nullable=False),
    Column("body", Text, nullable=False),
    Column("previous", key_text(), nullable=False),
    Column("hash", key_text(), nullable=False),
    PrimaryKeyConstraint("unit", "seq"),
    CheckConstraint("seq > 0", name="seq_from_one"),
    Index("ix_entry_slot_unit", "slot", "unit", sqlite_where=WRITTEN, postgresql_where=WRITTEN),
    Index("ix_entry_rare", "kind", "unit", "recorded", sqlite_where=RARE, postgresql_where=RARE),
    sqlite_with_rowid=False,
)
"""An entry as text, byte for byte what its hash covers; times stay text here for that reason."""

reference_table = Table(
    "ref",
    metadata,
    Column("kind", key_text(), nullable=False),
    Column("value", key_text(), nullable=False),
    Column("unit", key_text(), nullable=False),
    Column("seq", Integer, nullable=False),
    PrimaryKeyConstraint("kind", "value", "unit", "seq"),
    ForeignKeyConstraint(["unit", "seq"], ["entry.unit", "entry.seq"]),
    Index(None, "unit", "seq"),
    sqlite_with_rowid=False,
)
"""What an entry refers to (gauge, lot, part serial, person, customer, order), for where-used questions."""

counter = Table(
    "counter",
    metadata,
    Column("key", key_text(), primary_key=True),
    Column("last", Integer, nullable=False),
)
"""The last number given for each serial pattern."""

attachment = Table(
    "attachment",
    metadata,
    Column("digest", key_text(), primary_key=True),
    Column("name", Text, nullable=False),
    Column("media_type", Text, nullable=False),
    Column("size", Integer, nullable=False),
    Column("added", UtcText, nullable=False),
)
"""A file kept with the records; its bytes lie beside the database under their SHA-256."""

seen_file = Table(
    "seen_file",
    metadata,
    Column("digest", key_text(), nullable=False),
    Column("unit", key_text(), ForeignKey("unit.serial"), nullable=False),
    Column("seen", UtcText, nullable=False),
    PrimaryKeyConstraint("digest", "unit"),
)
"""Files whose results are already recorded, by SHA-256 of their bytes."""

form_token = Table(
    "form_token",
    metadata,
    Column("token", key_text(), primary_key=True),
    Column("used", UtcText, nullable=False),
)
"""One-time tokens of tablet pages: a form sent twice is recorded once."""

pin_trial = Table(
    "pin_trial",
    metadata,
    Column("person", key_text(), primary_key=True),
    Column("failures", Integer, nullable=False),
    Column("last", UtcText, nullable=False),
    CheckConstraint("failures >= 0", name="failures_counted"),
)
"""Trials of a person's PIN since the last one that was right: how many, and when the last one began."""

APPEND_ONLY = ("entry", "ref", "definition")
"""Tables whose rows are never changed nor removed."""


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
    """All steps in one transaction; the second process waits and finds nothing left to do."""
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
