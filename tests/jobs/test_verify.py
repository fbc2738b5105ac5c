"""Whatever is changed in the stored records is found."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from traveler.finding import CannotDo
from traveler.jobs.shipping import release
from traveler.trace.judging import judge
from traveler.trace.verify import verify_records


@pytest.fixture
def store_url(tmp_path: Path) -> str:
    """A SQLite file, which the test changes behind the program's back."""
    return f"sqlite:///{tmp_path / 'records.db'}"


@pytest.fixture
def behind(tmp_path: Path) -> Iterator[sqlite3.Connection]:
    """The stored bytes, without the triggers that guard them."""
    connection = sqlite3.connect(tmp_path / "records.db")
    yield connection
    connection.close()


def change(behind: sqlite3.Connection, statement: str, *values: object) -> None:
    for (name,) in behind.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        behind.execute(f'DROP TRIGGER "{name}"')
    behind.execute("PRAGMA foreign_keys = OFF")
    assert behind.execute(statement, values).rowcount
    behind.commit()


def test_untouched_records_are_sound(bench: Any) -> None:
    serials = bench.issue(count=3).serials
    done = verify_records(bench.session)
    assert (done.findings, [unit.serial for unit in done.units]) == ((), sorted(serials))
    assert all(not unit.findings and unit.count == 1 for unit in done.units)


CHANGES = {
    "a value": (
        "UPDATE entry SET body = replace(body, '0.038', '0.048') WHERE slot = '10-4/side=left'",
        "CHN001",
    ),
    "who": ("UPDATE entry SET by = 'awick' WHERE seq = 3", "CHN001"),
    "when": ("UPDATE entry SET at = replace(at, '2026', '2025') WHERE seq = 4", "CHN001"),
    "an entry removed": ("DELETE FROM entry WHERE seq = 5", "CHN002"),
    "the tail cut": ("DELETE FROM entry WHERE seq > 8", "CHN003"),
    "the definition": ("UPDATE definition SET content = replace(content, '0.05 mm', '0.50 mm')", "CHN006"),
    "the variant noted": ("UPDATE unit SET variant = '3'", "CHN007"),
    "the order noted": ("UPDATE unit SET order_reference = '9999'", "CHN007"),
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_change_behind_the_back_is_found(what: str, bench: Any, behind: sqlite3.Connection) -> None:
    serial = bench.built(order="4471")
    statement, code = CHANGES[what]
    change(behind, statement)
    done = verify_records(bench.session, [serial])
    assert code in {finding.code for finding in done.findings}
    assert done.units[0].findings


def test_a_broken_chain_closes_the_gate(bench: Any, behind: sqlite3.Connection) -> None:
    serial = bench.built()
    change(behind, "UPDATE entry SET body = replace(body, '0.038', '0.028') WHERE slot = '10-4/side=left'")
    with bench.session.store.reading() as records:
        assert "CHN001" in {
            finding.code for finding in judge(bench.session, records, serial).verdict.findings
        }
    refused = release(bench.session, serial, "qmoor")
    assert not refused.taken
    assert "CHN001" in {finding.code for finding in refused.findings}


def test_an_unknown_serial_cannot_be_verified(bench: Any) -> None:
    with pytest.raises(CannotDo, match="there is no unit"):
        verify_records(bench.session, ["ST2-2645-0001F"])
