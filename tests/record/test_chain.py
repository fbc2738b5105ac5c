"""The chain: any single change of what was written is found."""

from __future__ import annotations

import hashlib
import json
from dataclasses import fields, replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from traveler.record import chain
from traveler.record.entry import (
    Body,
    Confirmed,
    Counted,
    Draft,
    Entry,
    Fitted,
    Noted,
    Read,
    Signed,
    Struck,
    Ticked,
)
from traveler.record.stored import StoredRow, stored_row, time_text, to_entry

NOW = datetime(2026, 9, 14, 8, 30, tzinfo=UTC)
words = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=12)
bodies = st.one_of(
    st.just(Ticked()),
    st.just(Signed()),
    st.builds(Confirmed, yes=st.booleans()),
    st.builds(Noted, text=words),
    st.builds(Fitted, trace=st.sampled_from(["serial", "lot"]), value=words, number=st.none() | words),
    st.builds(Counted, good=st.integers(0, 2**40)),
    st.builds(Struck, strikes=st.integers(1, 9), reason=words.filter(len)),
    st.builds(Read, written=words, value=words, unit=st.none() | words, gauge=st.none() | words),
)
zones = st.timezones() | st.just(UTC)
times = st.datetimes(datetime(1900, 1, 1), datetime(2200, 1, 1), timezones=zones)  # noqa: DTZ001 - hypothesis wants naive ends
drafts = st.builds(
    Draft, unit=st.just("U1"), at=times, by=words, slot=st.none() | words, body=bodies,
    zone=st.none() | st.just("Europe/Madrid"), source=st.sampled_from(["tool", "pdf", "paper"]),
)  # fmt: skip


def chained(some: list[Draft]) -> list[StoredRow]:
    rows, previous = [], chain.GENESIS
    for seq, draft in enumerate(some, 1):
        rows.append(chain.link_row(draft, seq, previous, NOW))
        previous = rows[-1].hash
    return rows


def written_again(row: StoredRow) -> StoredRow:
    """The row of the entry that is read from a row."""
    entry = to_entry(row)
    again = stored_row(entry, entry.seq, time_text(entry.recorded), entry.previous)
    return replace(again, hash=entry.hash)


chains = st.lists(drafts, min_size=1, max_size=6).map(chained)


@given(chains)
def test_what_was_written_verifies_against_its_own_end(rows):
    assert chain.verify_rows(rows, head=rows[-1].hash, count=len(rows)) == []


@given(chains)
def test_an_entry_read_and_written_again_changes_no_byte(rows):
    assert [written_again(row) for row in rows] == rows


@given(chains)
def test_an_entry_read_is_one_that_the_model_takes(rows):
    for row in rows:
        entry = to_entry(row)
        assert entry == Entry.model_validate(entry.model_dump())
        assert entry.model_copy(update={"seq": 9}).seq == 9
        assert entry.model_fields_set == set(Entry.model_fields)


@given(chains)
def test_the_hash_is_sha256_over_the_canonical_json_of_the_entry_without_it(rows):
    for row in rows:
        whole = {
            field.name: getattr(row, field.name)
            for field in fields(row)
            if field.name not in ("hash", "kind")
        }
        whole = {name: value for name, value in whole.items() if value is not None}
        whole["body"] = json.loads(row.body)
        assert row.hash == hashlib.sha256(rfc8785.dumps(whole)).hexdigest()


@given(st.lists(drafts, min_size=1, max_size=5), drafts)
def test_appending_never_alters_earlier_rows_or_hashes(some, further):
    assert chained([*some, further])[:-1] == chained(some)


@given(chains, st.data())
def test_any_single_changed_character_is_found(rows, data):
    at = data.draw(st.integers(0, len(rows) - 1))
    name = data.draw(st.sampled_from([field.name for field in fields(StoredRow) if field.name != "seq"]))
    old = getattr(rows[at], name)
    if old is None:
        new = data.draw(words)
    else:
        where = data.draw(st.integers(0, len(old)))
        new = (
            old[:where]
            + data.draw(st.characters(exclude_categories=["Cs"]))
            + old[where + data.draw(st.integers(0, 1)) :]
        )
    if new == old:
        return
    changed = [*rows[:at], replace(rows[at], **{name: new}), *rows[at + 1 :]]
    found = chain.verify_rows(changed, head=rows[-1].hash, count=len(rows), unit="U1")
    assert found
    assert all(finding.place.unit and finding.hint and finding.why for finding in found)


@given(chains.filter(lambda rows: len(rows) > 1), st.data())
def test_a_removed_entry_is_found(rows, data):
    at = data.draw(st.integers(0, len(rows) - 1))
    left = rows[:at] + rows[at + 1 :]
    codes = {finding.code for finding in chain.verify_rows(left, head=rows[-1].hash, count=len(rows))}
    assert codes & {"CHN002", "CHN003"}


@given(chains.filter(lambda rows: len(rows) > 1), st.data())
def test_two_swapped_entries_are_found(rows, data):
    at = data.draw(st.integers(0, len(rows) - 2))
    swapped = [*rows[:at], rows[at + 1], rows[at], *rows[at + 2 :]]
    assert "CHN002" in {finding.code for finding in chain.verify_rows(swapped)}


@given(chains, drafts)
def test_a_chain_written_anew_does_not_end_in_the_noted_head(rows, other):
    forged = chained([*(to_entry(row) for row in rows[:-1]), other])
    if forged[-1].hash != rows[-1].hash:
        assert [
            finding.code for finding in chain.verify_rows(forged, head=rows[-1].hash, count=len(rows))
        ] == ["CHN005"]


def test_entries_written_after_the_noted_head_are_no_finding(samples):
    rows = chained(samples.work("U1"))
    assert chain.verify_rows(rows, head=rows[1].hash, count=2) == []


def test_a_cut_tail_says_how_much_is_missing(samples):
    rows = chained(samples.work("U1"))
    (found,) = chain.verify_rows(rows[:1], head=rows[-1].hash, count=3)
    assert (found.code, found.what) == ("CHN003", "the last 2 of 3 entries are missing")
    (found,) = chain.verify_rows([], count=3, unit="U1")
    assert found.code == "CHN003"


def test_an_entry_of_another_unit_is_found(samples):
    rows = chained(samples.work("U2"))
    assert {finding.code for finding in chain.verify_rows(rows, unit="U1")} == {"CHN004"}


def test_the_same_moment_in_another_zone_is_the_same_entry():
    here = Draft(unit="U1", at=NOW, by="a", body=Ticked())
    there = here.model_copy(update={"at": NOW.astimezone(timezone(timedelta(hours=5, minutes=45)))})
    assert chain.link_row(here, 1, chain.GENESIS, NOW) == chain.link_row(there, 1, chain.GENESIS, NOW)


def test_a_known_entry_has_a_known_hash():
    """Pins the form: if this changes, no store written before would verify."""
    body: Body = Read(written="0.041 mm", value="0.041", unit="mm", gauge="IND-03")
    draft = Draft(
        unit="BW4-2637-0001-K",
        at=NOW,
        zone="Europe/Madrid",
        by="tkiln",
        slot="30-2/spindle=1,end=near",
        body=body,
    )
    row = chain.link_row(draft, 1, chain.GENESIS, NOW)
    assert row.body == '{"gauge":"IND-03","kind":"read","unit":"mm","value":"0.041","written":"0.041 mm"}'
    assert chain.hashed_bytes(row) == (
        b'{"at":"2026-09-14T08:30:00.000000Z","body":{"gauge":"IND-03","kind":"read","unit":"mm","value":"0.041",'
        b'"written":"0.041 mm"},"by":"tkiln","previous":"'
        + b"0"
        * 64
        + b'","recorded":"2026-09-14T08:30:00.000000Z",'
        b'"seq":1,"slot":"30-2/spindle=1,end=near","source":"tool","unit":"BW4-2637-0001-K","zone":"Europe/Madrid"}'
    )
    assert row.hash == hashlib.sha256(chain.hashed_bytes(row)).hexdigest()


@pytest.mark.parametrize("broken", [b"\xff", 7, None])
def test_a_row_that_is_not_even_text_is_a_finding_not_a_crash(samples, broken):
    rows = chained(samples.work("U1"))
    for name in ("body", "at", "seq", "hash", "unit"):
        assert chain.verify_rows([rows[0], replace(rows[1], **{name: broken}), rows[2]]), name
