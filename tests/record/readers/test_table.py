"""One reader of tables: results, a gauge study and a list of serials take the same files of a spreadsheet."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from traveler.jobs.stop import read_serials
from traveler.record.readers.files import read_csv
from traveler.record.readers.table import BrokenTable, table_lines
from traveler.trace.gauge_study import read_study

SERIAL = "ST2-2645-0001F"


def results(content: bytes) -> list[str]:
    return [row.said["value"].text for row in read_csv(content, "t.csv").rows]


def study(content: bytes) -> list[str]:
    return [measured.part for measured in read_study(content, "t.csv").readings]


def serials(content: bytes) -> list[str]:
    return [cell.text for cell in read_serials(content, "t.csv")]


TABLES: dict[str, tuple[Callable[[bytes], list[str]], list[list[str]], list[str]]] = {
    "results": (results, [["slot", "value"], ["10-1", "yes"]], ["yes"]),
    "a study": (study, [["part", "operator", "trial", "value"], ["1", "A", "1", "5 mm"]], ["1"]),
    "serials": (serials, [["where", "serial"], ["Bay 3", SERIAL]], [SERIAL]),
}


def joined(rows: list[list[str]], sign: str = ",", end: str = "\n") -> str:
    return end.join(sign.join(row) for row in rows)


FORMS: dict[str, Callable[[list[list[str]]], bytes]] = {
    "commas": lambda rows: joined(rows).encode(),
    "semicolons": lambda rows: joined(rows, ";").encode(),
    "tabs": lambda rows: joined(rows, "\t").encode(),
    "quotation marks": lambda rows: joined([[f'"{cell}"' for cell in row] for row in rows]).encode(),
    "a byte order mark": lambda rows: joined(rows).encode("utf-8-sig"),
    "UTF-16": lambda rows: joined(rows).encode("utf-16"),
    "Windows lines": lambda rows: joined(rows, end="\r\n").encode(),
    "remarks and blank lines": lambda rows: b"# seen\n\n" + joined(rows, end="\n\n").encode(),
    "marks for text": lambda rows: joined([rows[0], [f"'{cell}" for cell in rows[1]]]).encode(),
}


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("name", TABLES)
def test_every_table_is_read_in_every_form_a_spreadsheet_gives_it(name: str, form: str) -> None:
    read, rows, expected = TABLES[name]
    assert read(FORMS[form](rows)) == expected


def test_rows_keep_the_line_they_start_in() -> None:
    text = 'slot,value\n"a\nb",1\n\nc,2\n'
    assert list(table_lines(text, "slot")) == [(1, ["slot", "value"]), (2, ["a\nb", "1"]), (5, ["c", "2"])]


def test_a_table_that_breaks_off_says_in_which_row() -> None:
    with pytest.raises(BrokenTable, match="breaks off here") as broken:
        list(table_lines('slot,value\na,1\nb,"2\n', "slot"))
    assert broken.value.line == 3
