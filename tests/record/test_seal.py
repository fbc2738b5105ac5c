"""A seal file: every change of it shows, and it shows what was taken from the records."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.record.chain import GENESIS, link_row, verify_rows
from traveler.record.entry import Draft, Noted
from traveler.record.seal import (
    add_lines,
    against_store,
    against_unit,
    bring_up_to,
    content_of,
    last_seal_line,
    read_seals,
    seal_file_held,
)
from traveler.record.stored import StoredRow, to_entry

AT = "2026-11-02T08:00:00.000000Z"
HEADS = [f"{number:064x}" for number in range(9)]
SAYS = [("unit", {"unit": "BW4-1", "count": 3, "head": HEADS[3]}), ("store", {"units": 2, "entries": 7})]


def write(file: Path, *batches: list) -> bytes:
    for says in batches:
        with seal_file_held(file) as opened:
            end = last_seal_line(opened)
            assert end is not None
            add_lines(opened, end, AT, "Marrowby", says)
    return file.read_bytes()


def codes(content: bytes) -> list[str]:
    return [finding.code for finding in read_seals(content, "seals.jsonl").findings]


def test_what_was_written_reads_back_without_a_finding(tmp_path):
    content = write(tmp_path / "s.jsonl", SAYS, SAYS[:1])
    book = read_seals(content, "s.jsonl")
    assert book.findings == ()
    assert [line.kind for line in book.lines] == ["begun", "unit", "store", "unit"]
    assert book.shop == "Marrowby"
    assert [seal_line.number for seal_line in book.units["BW4-1"]] == [2, 4]
    assert book.lines[0].previous == GENESIS


def test_the_hash_of_a_line_is_sha256_over_its_canonical_json_without_it(tmp_path):
    import hashlib

    import rfc8785

    for line in write(tmp_path / "s.jsonl", SAYS).splitlines():
        said = json.loads(line)
        stated = said.pop("hash")
        assert hashlib.sha256(rfc8785.dumps(said)).hexdigest() == stated


@pytest.fixture(scope="module")
def sealed(tmp_path_factory) -> bytes:
    return write(tmp_path_factory.mktemp("seal") / "s.jsonl", SAYS, SAYS, SAYS)


@given(st.data())
def test_any_changed_byte_is_found(sealed, data):
    at = data.draw(st.integers(0, len(sealed) - 1))
    byte = data.draw(st.integers(0, 255).filter(lambda byte: byte != sealed[at]))
    assert codes(sealed[:at] + bytes([byte]) + sealed[at + 1 :])


@given(st.data())
def test_removed_swapped_and_repeated_lines_are_found(sealed, data):
    lines = sealed.splitlines(keepends=True)
    at = data.draw(st.integers(0, len(lines) - 2))
    assert codes(b"".join(lines[:at] + lines[at + 1 :]))
    assert codes(b"".join([*lines[:at], lines[at + 1], lines[at], *lines[at + 2 :]]))
    assert codes(b"".join(lines[: at + 1] + lines[at:]))


@pytest.mark.parametrize(
    "content",
    [b"", b"\n", b"null\n", b"[" * 50_000 + b"\n", b'{"kind":"unit"}\n', b"\xff\xfe\n", b'{"kind":[]}\n'],
)
def test_what_is_no_seal_file_is_told(content):
    assert "SEA003" in codes(content)


def test_half_a_line_is_a_warning_and_the_next_seal_cuts_it_off(tmp_path, sealed):
    file = tmp_path / "s.jsonl"
    file.write_bytes(sealed + b'{"at":"2026-')
    book = read_seals(file.read_bytes(), "s")
    assert [(finding.code, str(finding.weight)) for finding in book.findings] == [("SEA003", "warning")]
    content = write(file, SAYS)
    assert codes(content) == []
    assert content.startswith(sealed)


def test_a_file_whose_last_line_was_altered_is_not_added_to(tmp_path, sealed):
    file = tmp_path / "s.jsonl"
    file.write_bytes(sealed.replace(b'"entries":7', b'"entries":6'))
    with seal_file_held(file) as opened:
        assert last_seal_line(opened) is None


def test_a_copy_is_brought_up_to_date_and_another_file_is_left_alone(tmp_path, sealed):
    copy, other = tmp_path / "copy.jsonl", tmp_path / "other.jsonl"
    copy.write_bytes(sealed[:700])
    other.write_bytes(b"a letter\n")
    assert bring_up_to(copy, sealed)
    assert copy.read_bytes() == sealed
    assert not bring_up_to(other, sealed)
    assert other.read_bytes() == b"a letter\n"
    with seal_file_held(copy) as opened:
        assert content_of(opened) == sealed


def test_a_chain_that_still_holds_what_was_sealed_is_silent(sealed):
    book = read_seals(sealed, "s")
    assert list(against_unit(book, "BW4-1", dict(enumerate(HEADS[1:], start=1)))) == []
    assert list(against_store(book, ["BW4-1", "BW4-2"], 2, 7)) == []


def test_a_cut_end_another_chain_a_missing_unit_and_smaller_totals_are_found(sealed):
    book = read_seals(sealed, "s")
    cut = list(against_unit(book, "BW4-1", {1: HEADS[1], 2: HEADS[2]}))
    assert {finding.code for finding in cut} == {"SEA005"}
    assert "the last 1 are gone" in cut[0].what
    anew = against_unit(book, "BW4-1", {1: HEADS[5], 2: HEADS[6], 3: HEADS[7]})
    assert {finding.code for finding in anew} == {"SEA006"}
    assert [finding.code for finding in against_store(book, ["BW4-2"], 1, 4)] == [
        "SEA004",
        "SEA007",
        "SEA007",
    ]


def forged(rows: list[StoredRow], chance: random.Random) -> tuple[str, list[StoredRow]]:
    """A chain that fits together and is not the one that was sealed: cut, emptied, or written again."""
    act = chance.choice(["cut", "cut", "gone", "anew", "replaced"])
    if act == "gone":
        return act, []
    if act == "cut":
        return act, rows[: chance.randrange(1, len(rows))]
    start = chance.randrange(len(rows))
    kept = rows[:start]
    for row in rows[start:]:
        said = to_entry(row)
        text = f"{chance.random()}"
        body = Noted(text=text) if act == "replaced" or row is rows[start] else said.body
        draft = Draft(unit=row.unit, at=said.at, by=said.by, slot=said.slot, body=body, source=said.source)
        kept.append(link_row(draft, row.seq, kept[-1].hash if kept else GENESIS, said.recorded))
    return act, kept


def test_whatever_is_done_to_a_sealed_chain_is_found_though_the_chain_itself_fits(samples, tmp_path):
    """A thousand changes by somebody who knows the program and puts right what is noted in the records."""
    chance = random.Random(11)
    rows: list[StoredRow] = []
    for number in range(12):
        draft = samples.draft("BW4-1", Noted(text=f"{number}"))
        rows.append(link_row(draft, number + 1, rows[-1].hash if rows else GENESIS, samples.now))
    says = ("unit", {"unit": "BW4-1", "count": len(rows), "head": rows[-1].hash})
    book = read_seals(write(tmp_path / "s.jsonl", [says]), "s")
    assert list(against_unit(book, "BW4-1", {row.seq: row.hash for row in rows})) == []
    for _ in range(1_000):
        act, changed = forged(rows, chance)
        head = changed[-1].hash if changed else GENESIS
        assert verify_rows(changed, head=head, count=len(changed)) == [], act
        found = list(against_unit(book, "BW4-1", {row.seq: row.hash for row in changed}))
        assert found, act
