"""The handbook and the tables say the same."""

import re
import sqlite3
from pathlib import Path

from traveler.trace.export_tables import TABLES, VIEWS

PAGE = (Path(__file__).parents[2] / "docs" / "exports.md").read_text(encoding="utf-8")


def test_every_column_is_explained_as_the_code_has_it():
    for table in TABLES:
        section = re.search(rf"^## {table.name}\n(.*?)(?=^## )", PAGE, re.MULTILINE | re.DOTALL)
        assert section is not None, table.name
        assert table.says in section[1]
        rows = re.findall(r"^\| `(\w+)` \| (\w+) \| (.+) \|$", section[1], re.MULTILINE)
        assert rows == [(column.name, column.kind, column.says) for column in table.columns]


def test_every_view_is_listed():
    rows = re.findall(r"^\| `(\w+)` \| ([^|]+) \|$", PAGE.split("## Views")[1], re.MULTILINE)
    assert rows == [(name, says) for name, (says, _) in VIEWS.items()]


def test_no_table_has_a_column_twice_and_keys_are_columns():
    for table in TABLES:
        assert len(set(table.names)) == len(table.names)
        assert set(table.key) <= set(table.names)


def test_the_part_fitted_now_is_the_one_fitted_last_as_in_the_verdict():
    """Not the one recorded last: number 3 was written down after number 2, and fitted before it."""
    with sqlite3.connect(":memory:") as database:
        database.execute("CREATE TABLE fitted (serial, slot, seq, at, value, struck_by)")
        database.executemany(
            "INSERT INTO fitted VALUES ('BW4', ?, ?, ?, ?, ?)",
            [
                ("10-1", 2, "2026-11-02T09:00:00Z", "M-2", None),
                ("10-1", 3, "2026-11-02T08:00:00Z", "M-1", None),
                ("10-1", 4, "2026-11-02T10:00:00Z", "M-3", 5),
                ("10-2", 6, "2026-11-02T10:00:00Z", "L-7", None),
            ],
        )
        found = database.execute(VIEWS["fitted_now"][1]).fetchall()
    assert [row[4] for row in found] == ["M-2", "L-7"]
