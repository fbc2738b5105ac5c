"""YAML as written: every digit kept, every trap of the language a finding with its place."""

from __future__ import annotations

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.definition.source import DEEPEST, LARGEST, Mapping, node_places, plain_content, read_source


def read(text: str) -> object:
    source = read_source(text, "f.yaml")
    assert source.root is not None
    assert not source.findings
    return plain_content(source.root)


def said(text: str) -> list[str]:
    return [
        f"{finding.place.line}:{finding.place.column} {finding.code}"
        for finding in read_source(text, "f.yaml").findings
    ]


@pytest.mark.parametrize(
    "written",
    [
        "0.10",
        "010",
        "12:30",
        "no",
        "NO",
        "true",
        "1e3",
        "000123",
        "1_000",
        "2026-09-14",
        "0x1F",
        ".5",
        "null",
        "=",
        "1.10",
    ],
)
def test_a_value_is_the_text_that_was_written(written: str) -> None:
    assert read(f"a: {written}") == {"a": written}


@pytest.mark.parametrize("written", ["", " ~", " ~ # nothing yet", "   "])
def test_nothing_and_a_tilde_mean_absent(written: str) -> None:
    assert read(f"a:{written}\nb: 1") == {"b": "1"}


@pytest.mark.parametrize("written", ['""', "''", '"~"', "'~'"])
def test_a_quoted_empty_text_or_tilde_is_a_text(written: str) -> None:
    assert read(f"a: {written}") == {"a": written.strip("\"'")}


def test_a_list_keeps_the_place_of_an_empty_entry() -> None:
    assert read("a:\n  - 1\n  -\n  - ~\n  - 2") == {"a": ["1", None, None, "2"]}


def test_line_endings_and_a_byte_order_mark_change_nothing() -> None:
    assert read("a: 1\nb: |\n  x\n  y\n") == read("\ufeffa: 1\r\nb: |\r\n  x\r\n  y\r\n")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a: 1\nb: 2\na: 3\n", ["3:1 YML002"]),
        ("a: {x: 1, x: 2}\n", ["1:11 YML002"]),
        ("a:\na: 1\n", ["2:1 YML002"]),
        ("a: &x 1\nb: *x\n", ["1:4 YML003", "2:4 YML003"]),
        ("a: !!int 1\n", ["1:4 YML004"]),
        ("a: !mine {b: 1}\n", ["1:4 YML004"]),
        ("a: {b: 1}\n<<: {c: 1}\n", ["2:1 YML005"]),
        ("", ["1:1 YML006"]),
        ("# only a comment\n", ["1:1 YML006"]),
        ("~\n", ["1:1 YML006"]),
        ("a: 1\n---\nb: 2\n", ["2:1 YML007"]),
        ("[a]: 1\n", ["1:1 YML010"]),
        ("? {a: b}\n: 1\n", ["1:3 YML010"]),
        ("a: Bolt #8 screws\n", ["1:9 YML011"]),
        ("a: 1\n  b: 2\n", ["2:4 YML001"]),
        ("a: [1, 2\n", ["2:1 YML001"]),
        ("a: 'x\n", ["2:1 YML001"]),
        ("\ta: 1\n", ["1:1 YML001"]),
        ("a: b: c\n", ["1:5 YML001"]),
        ("a: 1\nb: \x07\n", ["2:4 YML009"]),
        ("a: \u2028b\n", ["1:4 YML009"]),
        ("a: \ud800\n", ["1:4 YML009"]),
    ],
)
def test_traps_of_the_language_are_told_with_line_and_column(text: str, expected: list[str]) -> None:
    assert said(text) == expected


def test_the_first_of_two_equal_keys_is_kept_and_named() -> None:
    source = read_source("a: 1\nb: 2\na: 3\n", "f.yaml")
    assert source.root is not None
    assert plain_content(source.root) == {"a": "1", "b": "2"}
    assert "first in line 1" in source.findings[0].what


@pytest.mark.parametrize("comment", ["# note", "#", "## heading ##"])
def test_a_comment_with_a_space_is_no_lost_text(comment: str) -> None:
    assert read(f"a: Bolt {comment}\nb: '#8'") == {"a": "Bolt", "b": "#8"}


def test_an_alias_bomb_is_refused_without_being_built() -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join(f'*a{n - 1}' for _ in range(9))}]" for n in range(1, 30)]
    source = read_source("\n".join(lines), "f.yaml")
    assert {finding.code for finding in source.findings} == {"YML003"}


@pytest.mark.parametrize("opening", ["[", "{a: ", "- "])
def test_nesting_too_deep_is_told_and_not_followed(opening: str) -> None:
    assert said(opening * 5_000)[-1].endswith("YML008")
    assert DEEPEST < 100


def test_a_file_too_large_is_not_read() -> None:
    assert said("a" * (LARGEST + 1)) == ["1:1 YML008"]


def test_every_value_has_its_place() -> None:
    source = read_source("a: 1\nb:\n  - c: 2\n  - [3, 4]\n", "f.yaml")
    assert source.root is not None
    found = {path: f"{place.line}:{place.column}" for path, place in node_places(source.root).items()}
    assert found[("b", 0, "c")] == "3:8"
    assert found[("b", 1, 1)] == "4:9"
    assert found[("a",)] == "1:4"


def test_a_key_knows_its_place_and_an_absent_value_is_not_there() -> None:
    root = read_source("a:\nb: 1\n", "f.yaml").root
    assert isinstance(root, Mapping)
    assert root.get("a") is None
    key = root.key("a")
    assert key is not None
    assert key.place.line == 1


@given(st.text(alphabet=string.printable + "äµΩ±—'\"{}[]:,#&*!|>%@`", max_size=200))
def test_no_text_makes_the_reader_fail(text: str) -> None:
    source = read_source(text, "f.yaml")
    assert source.root is not None or source.findings
    for finding in source.findings:
        assert finding.place.line is not None
        assert finding.place.line >= 1
        assert finding.place.column is not None
        assert finding.place.column >= 1


@given(st.dictionaries(st.text("abcdef", min_size=1), st.text("01.:-_eNOyes", min_size=1), max_size=5))
def test_quoted_texts_come_back_as_they_are(content: dict[str, str]) -> None:
    text = "".join(f'"{key}": "{value}"\n' for key, value in content.items())
    assert not content or read(text) == content
