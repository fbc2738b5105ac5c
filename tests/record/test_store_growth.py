"""What one question or one append costs does not grow with the store: every one goes through an index."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import event

from traveler.record.records import Records
from traveler.record.store import Store, Transaction

QUESTIONS: dict[str, Callable[[Records], Any]] = {
    "unit": lambda r: r.unit("U1"),
    "entries": lambda r: r.entries("U1"),
    "references": lambda r: r.references("U1"),
    "units of an order": lambda r: r.units(order="O-77"),
    "units in a state": lambda r: r.units(state="building"),
    "units of a product": lambda r: r.units(product="bobbin-winder"),
    "units in pieces": lambda r: r.units(after="U1", limit=10),
    "units of a definition": lambda r: r.units(digest="d"),
    "where used": lambda r: r.where_used("lot", "L-1"),
    "units using": lambda r: r.units_using("gauge", "IND-03"),
    "fitted elsewhere": lambda r: r.fitted_elsewhere("U1", [("P-1", "M-1")]),
    "definition": lambda r: r.definition("p", "A"),
    "definition of": lambda r: r.definition_of("d"),
    "revisions": lambda r: r.revisions("p"),
    "seen": lambda r: r.seen("d", "U1"),
    "attachment": lambda r: r.attachment("d"),
}


@pytest.fixture
def sqlite_store(tmp_path, samples):
    with Store.open(f"sqlite:///{tmp_path / 'records.db'}") as opened:
        with opened.transaction() as tx:
            tx.put_definition(samples.definition())
            tx.issue(samples.issued("U1"), samples.now)
        yield opened


def plans(records: Records, act: Callable[[], Any]) -> list[str]:
    """SQLite's plan of every statement an act makes."""
    asked: list[tuple[str, Any]] = []
    connection = records._connection

    def note(_connection, _cursor, statement, parameters, _context, many):
        asked.append((statement, parameters[0] if many else parameters))

    event.listen(connection, "before_cursor_execute", note)
    act()
    event.remove(connection, "before_cursor_execute", note)
    driver = connection.connection.dbapi_connection
    lines = []
    for statement, parameters in asked:
        lines += [row[3] for row in driver.execute(f"EXPLAIN QUERY PLAN {statement}", parameters)]
    return lines


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_question_is_a_look_up(sqlite_store, question):
    with sqlite_store.reading() as records:
        told = plans(records, lambda: QUESTIONS[question](records))
    assert told
    assert not [line for line in told if line.startswith("SCAN")], told


def test_an_append_is_a_look_up(sqlite_store, samples):
    with sqlite_store.transaction() as tx:
        assert isinstance(tx, Transaction)
        told = plans(tx, lambda: tx.append_all(samples.work("U1"), samples.now))
        told += plans(tx, lambda: tx.next_number("U"))
    assert not [line for line in told if line.startswith("SCAN")], told


def test_an_append_makes_as_many_statements_for_three_hundred_entries_as_for_three(sqlite_store, samples):
    def statements(count: int) -> int:
        made: list[str] = []
        with sqlite_store.transaction() as tx:
            event.listen(tx._connection, "before_cursor_execute", lambda *told: made.append(told[2]))
            tx.append_all(samples.work("U1") * count, samples.now)
        return len(made)

    assert statements(100) == statements(1)
