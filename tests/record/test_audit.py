"""Somebody with the keys to the database changes what is stored: the audit finds every change."""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from sqlalchemy import Connection, create_engine, insert, select, text

from traveler.record.audit import audit, audit_unit, missing_guards
from traveler.record.store import Store
from traveler.record.tables import entry_table, metadata

TEXTS = ["unit", "at", "recorded", "by", "slot", "zone", "source", "kind", "body", "previous", "hash"]
GUARDS = [
    f"only_append_{table}_{act}" for table in ("entry", "ref", "definition") for act in ("update", "delete")
]


SHORTER = """UPDATE unit SET entries = 3, head = (SELECT previous FROM entry WHERE unit = 'BW4-1' AND seq = 4)
WHERE serial = 'BW4-1'"""


@contextmanager
def intruder(store: Store) -> Iterator[Connection]:
    """A connection for which no guard holds."""
    engine = create_engine(store.url)
    with engine.begin() as connection:
        if engine.dialect.name == "sqlite":
            for guard in GUARDS:
                connection.execute(text(f"DROP TRIGGER IF EXISTS {guard}"))
        else:
            connection.execute(text("SET session_replication_role = replica"))
            for table in ("entry", "ref", "definition"):
                connection.execute(text(f"GRANT ALL ON {table} TO CURRENT_USER"))
        yield connection
    engine.dispose()


def codes(store: Store) -> set[str]:
    return {finding.code for audited in audit(store) for finding in audited.findings}


@pytest.fixture
def worked(store, samples) -> Store:
    """Three units with four entries each."""
    with store.transaction() as tx:
        for serial in ("BW4-1", "BW4-2", "BW4-3"):
            if tx.unit(serial) is None:
                tx.issue(samples.issued(serial), samples.now)
            tx.append_all(samples.work(serial), samples.now)
    return store


def test_an_untouched_store_has_nothing_to_be_said_about_it(worked):
    found = list(audit(worked))
    assert [(serial.serial, serial.count, serial.findings) for serial in found] == [
        ("BW4-1", 4, ()), ("BW4-2", 4, ()), ("BW4-3", 4, ()),
    ]  # fmt: skip
    with worked.reading() as records:
        assert found[0].head == records.unit("BW4-1").head
        assert missing_guards(records) == []


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ("UPDATE entry SET body = replace(body, '0.041', '0.014') WHERE kind = 'read'", "CHN001"),
        ("UPDATE entry SET kind = 'noted' WHERE kind = 'read'", "CHN001"),
        ("DELETE FROM entry WHERE unit = 'BW4-2' AND seq = 2", "CHN002"),
        ("DELETE FROM entry WHERE unit = 'BW4-2' AND seq = 4", "CHN003"),
        ("UPDATE unit SET head = 'x' WHERE serial = 'BW4-1'", "CHN005"),
        (SHORTER, "CHN002"),
        ("UPDATE definition SET content = '{}'", "CHN006"),
        ("DELETE FROM definition", "CHN006"),
        ("UPDATE unit SET variant = '8' WHERE serial = 'BW4-1'", "CHN007"),
        ("DELETE FROM ref WHERE kind = 'gauge' AND unit = 'BW4-1'", "CHN008"),
        ("UPDATE ref SET value = 'IND-04' WHERE kind = 'gauge' AND unit = 'BW4-1'", "CHN008"),
    ],
)  # fmt: skip
def test_a_change_behind_our_back_has_a_code(worked, change, code):
    with intruder(worked) as connection:
        connection.execute(text(change))
    assert code in codes(worked)


def test_bytes_that_are_no_text_are_found_in_their_entry(tmp_path, samples):
    with Store.open(f"sqlite:///{tmp_path / 'records.db'}") as store:
        with store.transaction() as tx:
            tx.put_definition(samples.definition())
            tx.issue(samples.issued("BW4-1"), samples.now)
            tx.append_all(samples.work("BW4-1"), samples.now)
        with intruder(store) as connection:
            connection.execute(text("UPDATE entry SET body = CAST(x'7bff7d' AS TEXT) WHERE seq = 3"))
        with store.reading() as records:
            found = audit_unit(records, records.unit("BW4-1")).findings
            assert [(finding.code, finding.place.entry) for finding in found] == [("CHN001", 3)]
            assert records.unit("BW4-1").entries == 4, "the connection reads text as before"


def test_a_guard_taken_away_is_found(worked):
    with intruder(worked) as connection:
        if connection.dialect.name != "sqlite":
            connection.execute(text("ALTER TABLE ref DISABLE TRIGGER only_append_ref"))
    with worked.reading() as records:
        missing = {guard.code for guard in missing_guards(records)}
    assert missing == {"CHN009"}


def tampered(rows: list[dict], chance: random.Random) -> list[dict]:
    """The rows with one byte changed, one row gone, two swapped, or one written twice in another place."""
    rows = [dict(row) for row in rows]
    act = chance.choice(["byte", "byte", "byte", "remove", "swap", "move"])
    at = chance.randrange(len(rows))
    if act == "remove":
        return rows[:at] + rows[at + 1 :]
    if act == "swap":
        mates = [row for row in rows if row["unit"] == rows[at]["unit"] and row is not rows[at]]
        mate = chance.choice(mates)
        rows[at]["seq"], mate["seq"] = mate["seq"], rows[at]["seq"]
        return rows
    if act == "move":
        rows[at]["seq"] += 100
        return rows
    name = chance.choice([text for text in TEXTS if rows[at][text]])
    old = rows[at][name]
    where = chance.randrange(len(old))
    new = old[:where] + chance.choice("0aZ ~é") + old[where + 1 :]
    rows[at][name] = new if new != old else old + "x"
    return rows


def try_tampering(store: Store, times: int, seed: int) -> int:
    """How many of so many changes the audit found."""
    chance = random.Random(seed)
    with intruder(store) as connection:
        before = [dict(row._mapping) for row in connection.execute(select(entry_table))]
    found = 0
    for _ in range(times):
        with intruder(store) as connection:
            connection.execute(entry_table.delete())
            connection.execute(insert(entry_table), tampered(before, chance))
        found += bool(codes(store) - {"CHN008"})
    with intruder(store) as connection:
        connection.execute(entry_table.delete())
        connection.execute(insert(entry_table), before)
    assert codes(store) == set()
    return found


def test_forty_random_changes_are_all_found(worked):
    assert try_tampering(worked, 40, seed=3) == 40


@pytest.mark.long
def test_a_thousand_random_changes_are_all_found(worked):
    assert try_tampering(worked, 1_000, seed=5) == 1_000


def test_every_table_is_known_to_the_tests():
    assert set(metadata.tables) == {
        "definition", "unit", "entry", "ref", "counter", "attachment", "seen_file", "form_token",
        "pin_trial",
    }  # fmt: skip
