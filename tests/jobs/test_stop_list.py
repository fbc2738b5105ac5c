"""Lists of serials, as people make them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.finding import CannotDo
from traveler.jobs.stop import read_serials

A, B = "ST2-2645-0001F", "ST2-2645-0002D"


def read(text: str) -> list[tuple[str, int | None]]:
    return [(cell.text, cell.place.line) for cell in read_serials(text.encode(), "list.csv")]


@pytest.mark.parametrize(
    "text",
    [
        f"{A}\n{B}\n",
        f"\ufeff{A}\r\n{B}",
        f"{A},in stock,Bay 3\n{B},shipped,\n",
        f"{A};x\n{B};y\n",
        f"{A}\tx\n{B}\ty\n",
    ],
)
def test_a_serial_a_line_with_or_without_more_columns(text: str) -> None:
    assert read(text) == [(A, 1), (B, 2)]


def test_a_column_of_that_name_wherever_it_stands() -> None:
    assert read(f'where,Serial,why\n"Bay 3, left",{A},"lot, soft"\nBay 4,{B},\n') == [(A, 2), (B, 3)]


def test_blank_lines_and_remarks_are_passed_over_and_lines_keep_their_numbers() -> None:
    assert read(f"# affected by the lot\n\n{A}\n  # and\n , \n{B}\n") == [(A, 3), (B, 6)]


@pytest.mark.parametrize("text", ["", "\n\n", "# nothing\n", "serial\n", ",\n"])
def test_a_list_without_a_serial_is_refused(text: str) -> None:
    with pytest.raises(CannotDo, match="no serial"):
        read(text)


def test_what_is_no_text_is_refused() -> None:
    with pytest.raises(CannotDo, match="UTF-8"):
        read_serials(b"\xff", "list.csv")


def test_a_list_in_utf_16_is_read_as_results_are() -> None:
    content = f"serial\n{A}\n".encode("utf-16")
    assert [cell.text for cell in read_serials(content, "list.csv")] == [A]


def test_a_table_that_breaks_off_is_refused_with_its_line() -> None:
    with pytest.raises(CannotDo, match=r"list.csv:2: the table breaks off here"):
        read(f'serial\n"{A}\n')


@given(st.binary(max_size=200))
def test_any_bytes_are_a_list_or_refused(content: bytes) -> None:
    try:
        found = read_serials(content, "list.csv")
    except CannotDo:
        return
    assert all(cell.text.strip() for cell in found)
