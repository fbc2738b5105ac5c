"""YAML results: what is taken, and what is refused, with its place."""

from __future__ import annotations

import pytest

from traveler.record.entry import Noted, Ticked
from traveler.record.readers.files import read_results


def test_a_plain_value_a_mapping_and_a_list_are_read(desk):
    content = desk.yaml(
        "  10-1: yes",
        "  10-6: {value: yes, note: one burr taken off}",
        "  10-4/spindle=1,end=near:",
        "    - {value: 0.060 mm, as_found: yes}",
        "    - 0.041 mm",
    )
    drafts = desk.read(content, "r.yaml").drafts
    assert [(draft.slot, getattr(draft.body, "value", None)) for draft in drafts] == [
        ("10-1", None), ("10-6", None), ("10-6", None),
        ("10-4/spindle=1,end=near", "0.060"), ("10-4/spindle=1,end=near", "0.041"),
    ]  # fmt: skip
    assert (drafts[0].body, drafts[2].body) == (Ticked(), Noted(text="one burr taken off"))


@pytest.mark.parametrize("blank", ["", " ~", " {value: }", " {value: ~, gauge: IND-03}", " []", ' ""', " {}"])
def test_what_is_left_blank_is_no_result(desk, blank):
    understood = desk.read(desk.yaml(f"  10-1:{blank}"), "r.yaml")
    assert (understood.drafts, understood.findings) == ((), ())


@pytest.mark.parametrize(
    ("line", "code", "place"),
    [
        ("  10-1: 0.05", "RES030", "5:9"),
        ("  10-11: yes", "RES042", "5:3"),
        ("  10-1: {vale: yes}", "RES008", "5:10"),
        ("  10-1: {value: {a: b}}", "RES009", "5:17"),
        ("  10-1: [[yes]]", "RES009", "5:10"),
        ("  10-2: M-1\n  10-2: M-2", "YML002", "6:3"),
        ("  10-4/spindle=1,end=near: 0.05", "RES031", "5:28"),
        ("  10-1: {value: yes, at: soon}", "RES020", "5:26"),
        ("  - yes", "RES009", "5:3"),
        ("  10-1: [yes", "YML001", None),
        ("  10-1: &a yes", "YML003", "5:9"),
        ('  10-2: "M\\ud800"', "RES006", "5:9"),
        ('  10-2: {value: "M\\0"}', "RES006", "5:17"),
        ("  10-1: \x07", "YML009", "5:9"),
    ],
)
def test_a_wrong_line_is_told_with_line_and_column(desk, line, code, place):
    found = desk.found(desk.yaml(line), "r.yaml")
    assert code in dict(found)
    assert place is None or (code, f"r.yaml:{place}") in found


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "YML006"),
        (b"- a\n", "RES009"),
        (b"just text\n", "RES009"),
        (b"format: 2\nresults: {}\n", "RES009"),
        (b"serail: X\n", "RES008"),
        (b"serial: [a]\n", "RES009"),
        (b"serial: \xff\n", "RES001"),
        (b" " * 4_000_001, "RES002"),
    ],
)
def test_a_file_of_another_shape_is_refused(content, code):
    assert code in {finding.code for finding in read_results(content, "r.yml").findings}


def test_a_misspelt_key_is_told_the_nearest_one(desk):
    (finding,) = desk.read(desk.yaml("  10-1: {vale: yes}"), "r.yaml").findings
    assert finding.hint == "did you mean 'value'?"
