"""A store of the first released tables is brought up to date by opening it, and judged as it was."""

from __future__ import annotations

import json
import sqlite3
import warnings
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import create_engine, make_url, text
from sqlalchemy.exc import DatabaseError

from traveler.jobs.open import open_session
from traveler.jobs.seal import seal
from traveler.record import tables as schema
from traveler.record.archive.backup import back_up, restore_backup
from traveler.record.entry import Noted
from traveler.record.store import Store
from traveler.record.tables import metadata
from traveler.shop.session import Session
from traveler.trace.judging import judge
from traveler.trace.verify import verify_records

FIRST = Path(__file__).parent / "first_schema"
EXPECTED = json.loads((FIRST / "expected.json").read_text())
NOW = datetime.fromisoformat(EXPECTED["now"])


@pytest.fixture
def old_url(store_url: str) -> str:
    """The address of a store as the first program left it."""
    import psycopg

    url = make_url(store_url)
    if url.get_backend_name() == "sqlite":
        connection = sqlite3.connect(str(url.database))
        connection.executescript((FIRST / "sqlite.sql").read_text())
        connection.close()
        return store_url
    plain = url.set(drivername="postgresql").render_as_string(hide_password=False)
    with psycopg.connect(plain) as server:
        server.execute((FIRST / "postgresql.sql").read_text())
    return store_url


@pytest.fixture
def session(old_url: str, tmp_path: Path) -> Iterator[Session]:
    opened = open_session(FIRST / "shop", NOW, database=old_url)
    assert opened.session is not None, opened.findings
    settings = opened.session.shop.settings.model_copy(update={"seals": (str(tmp_path / "seals.jsonl"),)})
    with opened.session.store:
        yield replace(opened.session, shop=replace(opened.session.shop, settings=settings))


def versions(url: str) -> list[str]:
    engine = create_engine(url)
    with engine.connect() as connection:
        found = [str(row[0]) for row in connection.execute(text("SELECT version_num FROM alembic_version"))]
    engine.dispose()
    return found


def test_opening_brings_the_tables_up_to_the_present_ones(old_url):
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    assert versions(old_url) == ["0001"]
    Store.open(old_url).close()
    assert versions(old_url) == [schema.CURRENT]
    engine = create_engine(old_url)
    with engine.connect() as connection, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        differences = compare_metadata(context, metadata)
    engine.dispose()
    assert differences == []


def test_what_was_written_verifies_and_is_judged_as_it_was(session):
    assert verify_records(session).findings == ()
    with session.store.reading() as records:
        assert {unit.serial for unit in records.units()} == set(EXPECTED["units"])
        for serial, was in EXPECTED["units"].items():
            judged = judge(session, records, serial)
            assert (judged.unit.entries, judged.unit.head) == (was["entries"], was["head"])
            assert str(judged.verdict.state) == was["state"]
            assert {
                slot: str(slot_verdict.state) for slot, slot_verdict in judged.verdict.slots.items()
            } == was["slots"]
            blocking = {finding.code for finding in judged.verdict.findings if finding.weight == "blocking"}
            assert sorted(blocking) == was["findings"]


def test_work_goes_on_and_the_guards_still_hold(session):
    serial = next(iter(EXPECTED["units"]))
    session = replace(session, now=NOW + timedelta(days=1))
    with session.store.transaction() as work:
        work.append(session.draft(serial, "rhale", Noted(text="after the upgrade")), session.now)
    assert seal(session).units == len(EXPECTED["units"])
    assert verify_records(session).findings == ()
    engine = create_engine(session.store.url)
    for table in ("entry", "ref", "definition"):
        with pytest.raises(DatabaseError, match="only ever added"), engine.begin() as connection:
            connection.execute(text(f"DELETE FROM {table}"))  # noqa: S608
    engine.dispose()


def test_an_upgrade_that_breaks_off_leaves_the_old_store(old_url, monkeypatch):
    from alembic import command

    real = command.upgrade

    def broken(config, revision):
        real(config, revision)
        raise KeyboardInterrupt

    monkeypatch.setattr(command, "upgrade", broken)
    if schema.CURRENT == "0001":
        pytest.fail("there is no later version to upgrade to")
    with pytest.raises(KeyboardInterrupt):
        Store.open(old_url)
    assert versions(old_url) == ["0001"]
    monkeypatch.undo()
    Store.open(old_url).close()
    assert versions(old_url) == [schema.CURRENT]


def test_a_backup_of_the_first_program_is_restored_and_stays_as_it_was(tmp_path):
    folder = tmp_path / "backup"
    (folder / "attachments").mkdir(parents=True)
    connection = sqlite3.connect(folder / "records.db")
    connection.executescript((FIRST / "sqlite.sql").read_text())
    connection.close()
    before = (folder / "records.db").read_bytes()
    with Store.open(f"sqlite:///{tmp_path / 'records.db'}") as store:
        copied = restore_backup(folder, store)
        assert (copied.units, copied.findings) == (len(EXPECTED["units"]), ())
        assert back_up(store, tmp_path / "second").units == copied.units
    assert (folder / "records.db").read_bytes() == before
    assert sorted(path.name for path in folder.iterdir()) == ["attachments", "records.db"]
