"""The tables are made by migrations, brought up to date on opening, and refused when they are newer."""

from __future__ import annotations

import threading
import warnings

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine, text

from traveler.record import schema
from traveler.record.store import Store
from traveler.record.tables import metadata
from traveler.record.trouble import StoreNewer


def test_the_migrations_make_the_tables_the_program_uses(store_url):
    Store.open(store_url).close()
    engine = create_engine(store_url)
    with engine.connect() as connection, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # reflection of expression indexes and the like, none of ours
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        differences = compare_metadata(context, metadata)
    engine.dispose()
    assert differences == []


def test_the_list_of_versions_is_that_of_the_migrations():
    config = Config()
    config.set_main_option("script_location", str(schema.MIGRATIONS))
    scripts = [one.revision for one in ScriptDirectory.from_config(config).walk_revisions()]
    assert tuple(reversed(scripts)) == schema.VERSIONS


def test_a_store_of_a_newer_program_is_refused_and_left_alone(store_url):
    Store.open(store_url).close()
    engine = create_engine(store_url)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(StoreNewer, match="9999") as refused:
        Store.open(store_url)
    with engine.connect() as connection:
        assert connection.execute(text("SELECT version_num FROM alembic_version")).scalar() == "9999"
    engine.dispose()
    assert "update traveler" in refused.value.hint


def test_several_may_open_a_new_store_at_once(store_url):
    failures: list[BaseException] = []

    def go() -> None:
        try:
            Store.open(store_url).close()
        except BaseException as problem:  # noqa: BLE001 - whatever a thread raises must reach the test
            failures.append(problem)

    threads = [threading.Thread(target=go) for _ in range(6)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert failures == []


def test_an_interrupted_creation_leaves_an_empty_store_that_can_be_made(store_url, monkeypatch):
    monkeypatch.setattr(schema, "stored_version", fails_the_second_time())
    with pytest.raises(RuntimeError):
        Store.open(store_url)
    monkeypatch.undo()
    with Store.open(store_url) as store, store.reading() as records:
        assert records.units() == ()


def fails_the_second_time():
    """Stands in for the check that is made again under the lock."""
    real, calls = schema.stored_version, []

    def check(connection):
        calls.append(1)
        if len(calls) > 1:
            connection.execute(text("CREATE TABLE half (a INTEGER)"))
            raise RuntimeError
        return real(connection)

    return check
