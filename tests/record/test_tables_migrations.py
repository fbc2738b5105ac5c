"""The tables are made by migrations, brought up to date on opening, and refused when they are newer."""

from __future__ import annotations

import threading
import warnings
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import create_engine, select, text

from traveler.record import tables
from traveler.record import tables as schema
from traveler.record.audit import audit
from traveler.record.engine import WRITES, database_address, open_engine
from traveler.record.entry import Stopped
from traveler.record.errors import StoreError, StoreNewer
from traveler.record.records import PinTrials
from traveler.record.store import Store, Transaction


def test_the_migrations_make_the_tables_the_program_uses(store_url):
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    Store.open(store_url).close()
    engine = create_engine(store_url)
    with engine.connect() as connection, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # reflection of expression indexes and the like, none of ours
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        differences = compare_metadata(context, tables.metadata)
    engine.dispose()
    assert differences == []


def test_the_list_of_versions_is_that_of_the_migrations():
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", str(schema.MIGRATIONS))
    scripts = [revision.revision for revision in ScriptDirectory.from_config(config).walk_revisions()]
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
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
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


def made_at(url: str, version: str):
    """An engine on a store whose tables are those of an earlier version."""
    from alembic import command
    from alembic.config import Config

    engine = open_engine(database_address(url))
    config = Config()
    config.set_main_option("script_location", str(schema.MIGRATIONS))
    with engine.connect().execution_options(**{WRITES: True}) as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, version)
    return engine


@pytest.mark.parametrize("version", schema.VERSIONS[:-1])
def test_a_store_of_every_earlier_version_is_brought_up_to_date_with_what_is_in_it(
    store_url, samples, version
):
    engine = made_at(store_url, version)
    with engine.connect().execution_options(**{WRITES: True}) as connection, connection.begin():
        work = Transaction(connection)
        work.put_definition(samples.definition())
        work.issue(samples.issued("BW4-1", "O-77"), samples.now)
        before = work.append_all(samples.work("BW4-1"), samples.now)
    engine.dispose()
    with Store.open(store_url) as store:
        with store.reading() as records:
            assert schema.stored_version(records._connection) == schema.CURRENT
            assert records.entries("BW4-1")[1:] == before
            assert records.pin_trials() == {}
        assert [audited.findings for audited in audit(store)] == [()]
        with store.transaction() as work:
            work.append(samples.draft("BW4-1", Stopped(what="dent")), samples.now)
        with store.reading() as records:
            assert [unit.serial for unit in records.stopped_units()] == ["BW4-1"]


@pytest.mark.parametrize(
    ("asked", "index"),
    [
        (
            select(tables.entry_table.c.unit).where(tables.entry_table.c.kind == "stopped", tables.RARE),
            "ix_entry_rare",
        ),
        (
            select(tables.entry_table.c.unit).where(
                tables.entry_table.c.slot == "10-4", tables.entry_table.c.unit > "B"
            ),
            "ix_entry_slot_unit",
        ),
    ],
    ids=["what was stopped", "one slot of all units"],
)
def test_questions_over_many_units_are_answered_by_an_index(store_url, asked, index):
    with Store.open(store_url) as store, store.reading() as records:
        if records.dialect == "postgresql":
            records.ask(text("SET LOCAL enable_seqscan = off"))
        explain = "EXPLAIN QUERY PLAN" if records.dialect == "sqlite" else "EXPLAIN"
        words = asked.compile(dialect=records._connection.dialect, compile_kwargs={"literal_binds": True})
        plan = " ".join(str(row) for row in records.ask(text(f"{explain} {words}")))
    assert index in plan


def test_trials_of_a_pin_are_counted_and_never_below_none(store_url, samples):
    with Store.open(store_url) as store:
        with store.transaction() as work:
            assert work.hold_pin_trials("qmoor", samples.now) == PinTrials(0, samples.now)
            work.note_pin_trials("qmoor", PinTrials(2, samples.now))
        with store.transaction() as work:
            later = samples.now + timedelta(minutes=1)
            assert work.hold_pin_trials("qmoor", later) == PinTrials(2, samples.now)
            assert work.pin_trials() == {"qmoor": PinTrials(2, samples.now)}
            work.abandon()
        with pytest.raises(StoreError), store.transaction() as work:
            work.note_pin_trials("qmoor", PinTrials(-1, samples.now))


def test_the_clock_of_the_store_is_that_of_its_computer_in_utc(store_url):
    with Store.open(store_url) as store, store.reading() as records:
        assert abs(datetime.now(UTC) - records.clock()) < timedelta(minutes=1)
        assert records.clock().tzinfo is UTC
