"""The database itself refuses to change what was recorded."""

from __future__ import annotations

import pytest
from sqlalchemy import create_engine, select, text
from sqlalchemy.exc import DBAPIError

from traveler.record.store import Store
from traveler.record.tables import APPEND_ONLY, metadata

CHANGES = [
    'UPDATE entry SET body = \'{"kind":"ticked"}\' WHERE seq = 1',
    "UPDATE entry SET \"by\" = 'somebody' WHERE seq = 1",
    "DELETE FROM entry WHERE seq = 2",
    "DELETE FROM ref",
    "UPDATE ref SET value = 'IND-04' WHERE kind = 'gauge'",
    "UPDATE definition SET content = '{}'",
    "DELETE FROM definition",
]


def rows(store: Store, table: str) -> list:
    with store.reading() as records:
        return sorted(map(str, records._connection.execute(select(metadata.tables[table]))))


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_is_refused_and_changes_nothing(store, store_url, samples, change):
    with store.transaction() as tx:
        tx.append_all(samples.work("BW4-1"), samples.now)
    before = {table: rows(store, table) for table in APPEND_ONLY}
    engine = create_engine(store_url)
    with pytest.raises(DBAPIError), engine.begin() as connection:
        connection.execute(text(change))
    engine.dispose()
    assert {table: rows(store, table) for table in APPEND_ONLY} == before


def test_replacing_a_row_is_refused_on_our_connections(tmp_path, samples):
    with Store.open(f"sqlite:///{tmp_path / 'records.db'}") as store:
        with store.transaction() as tx:
            tx.put_definition(samples.definition())
            tx.issue(samples.issued("BW4-1"), samples.now)
        before = rows(store, "entry")
        with pytest.raises(Exception, match="only ever added to"), store.transaction() as tx:
            tx._connection.execute(text("INSERT OR REPLACE INTO entry SELECT * FROM entry"))
        assert rows(store, "entry") == before


@pytest.mark.postgres
def test_truncating_is_refused_and_the_right_to_delete_is_gone(postgres_url):
    Store.open(postgres_url).close()
    engine = create_engine(postgres_url)
    with pytest.raises(DBAPIError), engine.begin() as connection:
        connection.execute(text("TRUNCATE entry CASCADE"))
    with engine.connect() as connection:
        granted = connection.execute(
            text("SELECT relname, relacl::text FROM pg_class WHERE relname = 'entry'")
        )
        rights = granted.one().relacl
    engine.dispose()
    assert "postgres=arw" in rights, (
        rights
    )  # INSERT (a), SELECT (r), UPDATE (w), but no DELETE (d), TRUNCATE (D)


def test_sqlite_is_set_up_to_lose_nothing(tmp_path):
    with Store.open(f"sqlite:///{tmp_path / 'records.db'}") as store, store.reading() as records:
        asked = ("journal_mode", "synchronous", "foreign_keys", "recursive_triggers", "busy_timeout")
        told = {name: records._connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in asked}
    assert told == {
        "journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "recursive_triggers": 1,
        "busy_timeout": 30_000,
    }  # fmt: skip


def test_foreign_keys_are_enforced(store):
    with pytest.raises(Exception, match=r"(?i)foreign key"), store.transaction() as tx:
        tx._connection.execute(text("INSERT INTO seen_file VALUES ('d', 'NO-SUCH', '2026')"))
