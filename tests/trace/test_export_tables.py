"""The handbook and the tables say the same."""

import re
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
