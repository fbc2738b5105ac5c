"""Answers: tables on wide and narrow terminals, JSON in UTF-8 anywhere, exit codes."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.cli.answer import Answer, Column, LongAnswer, failure, table
from traveler.finding import Finding, Weight

COLUMNS = (
    "serial",
    Column("built as", drop=2),
    Column("what is wrong", text=True),
    Column("by", drop=1),
    "due",
)
ROWS = [
    ("BW8-2639-0001N", "bobbin-winder 8 D", "Run-out of the third spindle is over after two tries", "tkiln",
     "2026-11-30"),
    ("PW230-2639-0004K", "potters-wheel 230 B", "Dent", "iwren", ""),
]  # fmt: skip
WARNING = Finding("SEQ007", "late", weight=Weight.NOTE)
BLOCKS = Finding("REA001", "out")


def test_a_wide_terminal_shows_everything_on_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "140")
    lines = table(COLUMNS, ROWS).splitlines()
    assert len(lines) == 4
    assert lines[0].split("  ")[0] == "serial"
    assert set(lines[1]) == {"─", " "}
    assert all(part in lines[2] for part in ROWS[0])
    assert "left out" not in lines[-1]


def test_a_narrower_one_folds_texts_between_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "90")
    drawn = table(COLUMNS, ROWS)
    assert "left out" not in drawn
    assert max(map(len, drawn.splitlines())) <= 90
    assert len(drawn.splitlines()) > 4


def test_at_sixty_columns_some_are_left_out_and_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    lines = table(COLUMNS, ROWS).splitlines()
    assert lines[-1] == "(left out: built as)"
    assert max(map(len, lines)) <= 60
    assert any(line.startswith("PW230-2639-0004K") for line in lines)


def test_where_even_that_is_too_wide_each_row_is_a_record(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    rows = [("BW8-2639-0001N", "IND-03-A-VERY-LONG-ID-OF-A-GAUGE", "")]
    assert table(("serial", "gauge", "due"), rows).splitlines() == [
        "serial  BW8-2639-0001N",
        "gauge   IND-03-A-VERY-LONG-ID-OF-A-GAUGE",
    ]


@given(
    rows=st.lists(
        st.tuples(
            st.from_regex(r"[A-Z0-9]{2,5}-[0-9]{4}-[0-9A-Z]{5}", fullmatch=True),
            st.text(
                st.characters(min_codepoint=32, max_codepoint=0x3000, exclude_categories=["C", "Z", "M"])
            ),
            st.sampled_from(["", "30-2/spindle=1,end=near", "C-3"]),
        ),
        min_size=1,
        max_size=5,
    ),
    columns=st.integers(20, 200),
)
def test_no_id_is_ever_broken(rows: list[tuple[str, str, str]], columns: int) -> None:
    before = os.environ.get("COLUMNS")
    os.environ["COLUMNS"] = str(columns)
    try:
        drawn = table(("serial", Column("what", text=True, drop=1), "slot"), rows)
    finally:
        os.environ["COLUMNS"] = before or "120"
    for serial, _, slot in rows:
        assert serial in drawn
        assert slot in drawn


def test_lines_are_not_made_for_json(capsys: pytest.CaptureFixture[str]) -> None:
    def lines() -> list[str]:
        raise AssertionError

    made = (line for line in (lines() for _ in range(1)))
    assert Answer({"a": 1}, made).show(json_wanted=True) == 0  # type: ignore[arg-type]
    assert json.loads(capsys.readouterr().out) == {"a": 1, "findings": [], "exit": 0}


@pytest.mark.parametrize(
    ("answer", "code"),
    [
        (Answer({}), 0), (Answer({}, findings=[WARNING]), 0), (Answer({}, findings=[WARNING, BLOCKS]), 1),
        (Answer({}, urgent=True), 1),
    ],
)  # fmt: skip
def test_only_what_blocks_or_is_urgent_ends_with_1(
    answer: Answer, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    for json_wanted in (False, True):
        assert answer.show(json_wanted=json_wanted) == code
    assert json.loads(capsys.readouterr().out)["exit"] == code


def test_a_finding_is_listed_once_with_its_weight(capsys: pytest.CaptureFixture[str]) -> None:
    Answer({}, findings=[BLOCKS, WARNING, BLOCKS]).show(json_wanted=False)
    assert capsys.readouterr().err.splitlines() == ["REA001 out", "SEQ007 late (note)"]


def test_a_long_answer_is_one_document_or_its_lines(capsys: pytest.CaptureFixture[str]) -> None:
    pieces = [("", [BLOCKS]), ('{"unit": "A"}', [WARNING]), ("", [BLOCKS]), ('{"unit": "B"}', [])]
    assert LongAnswer("units", iter(pieces)).show(json_wanted=True) == 1
    document = json.loads(capsys.readouterr().out)
    assert [unit["unit"] for unit in document["units"]] == ["A", "B"]
    assert LongAnswer("units", iter([("A\nB", ())])).show(json_wanted=False) == 0
    assert capsys.readouterr().out == "A\nB\n"


def test_a_failure_ends_with_2(capsys: pytest.CaptureFixture[str]) -> None:
    assert failure("no such unit", "see its label") == 2
    assert capsys.readouterr().err == "traveler: no such unit; see its label\n"
    assert failure("no such unit", json_wanted=True) == 2
    assert json.loads(capsys.readouterr().out)["error"] == "no such unit"


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "utf-8"])
def test_json_is_utf8_on_any_terminal(encoding: str) -> None:
    program = "from traveler.cli.main import main; main()"
    words = ["definition", "limits", "24 N·m ± 1.5", "--json"]
    done = subprocess.run(
        [sys.executable, "-c", program, *words],
        capture_output=True, timeout=120, env={**os.environ, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout.decode("utf-8"))["unit"] == "N·m"
