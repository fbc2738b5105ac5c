"""Notes and strike-outs: by who may, with reasons, and nothing ever gone."""

from __future__ import annotations

from typing import Any

import pytest

from traveler.finding import CannotDo
from traveler.jobs.append import note, strike
from traveler.jobs.shipping import release
from traveler.trace.judging import judge


def entries_of(bench: Any, serial: str) -> Any:
    with bench.session.store.reading() as records:
        return records.entries(serial)


def seq_of(bench: Any, serial: str, slot: str) -> int:
    return next(entry.seq for entry in entries_of(bench, serial) if entry.slot == slot)


def test_a_note_is_kept_with_who_and_when(bench: Any) -> None:
    serial = bench.unit()
    added = note(bench.session, serial, "  Long cable asked for. ", "tkiln", slot="10-1")
    assert added.entry is not None
    assert (added.entry.body.text, added.entry.slot, added.entry.by) == (
        "Long cable asked for.",
        "10-1",
        "tkiln",
    )
    assert entries_of(bench, serial)[-1] == added.entry


def test_nobody_writes_today_what_they_were_allowed_to_only_earlier(bench: Any) -> None:
    serial = bench.unit()
    person = bench.session.shop.people.get("oldhand")
    then = bench.session.now.replace(year=person.left.year - 1)
    backdated = note(bench.session, serial, "x", "oldhand", at=then)
    (finding,) = backdated.findings
    assert (finding.code, f"this is dated {bench.session.today}" in finding.what) == ("PER003", True)


@pytest.mark.parametrize(
    ("by", "slot", "code"),
    [("nobody", None, "PER001"), ("oldhand", None, "PER003"), ("tkiln", "10-77", "ENT001")],
)
def test_a_note_that_cannot_stand_is_not_written(bench: Any, by: str, slot: str | None, code: str) -> None:
    serial = bench.unit()
    refused = note(bench.session, serial, "x", by, slot=slot)
    assert (refused.entry, [finding.code for finding in refused.findings]) == (None, [code])
    assert len(entries_of(bench, serial)) == 1


def test_a_note_without_words_is_refused(bench: Any) -> None:
    with pytest.raises(CannotDo):
        note(bench.session, bench.unit(), " \n", "tkiln")


def test_a_struck_entry_counts_no_more_and_stays(bench: Any) -> None:
    serial = bench.built()
    seq = seq_of(bench, serial, "10-1")
    added = strike(bench.session, serial, seq, "ticked the wrong unit", "tkiln")
    assert added.entry is not None
    assert added.judged.verdict.slots["10-1"].state == "open"
    assert seq_of(bench, serial, "10-1") == seq
    assert added.judged.unit.entries == len(entries_of(bench, serial))


def test_everybody_may_strike_out_their_own_and_quality_what_others_wrote(bench: Any) -> None:
    serial = bench.built()
    seq = seq_of(bench, serial, "10-1")
    others = strike(bench.session, serial, seq, "wrong", "awick")
    assert (others.entry, [finding.code for finding in others.findings]) == (None, ["GAT002"])
    assert strike(bench.session, serial, seq, "wrong", "qmoor").entry is not None


def test_a_strike_out_can_itself_be_struck_out(bench: Any) -> None:
    serial = bench.built()
    struck = strike(bench.session, serial, seq_of(bench, serial, "10-1"), "wrong", "tkiln").entry
    again = strike(bench.session, serial, struck.seq, "it was right", "tkiln")
    assert again.judged.verdict.slots["10-1"].state == "done"


@pytest.mark.parametrize("seq", [0, -1, 999])
def test_a_strike_out_of_nothing_is_refused(bench: Any, seq: int) -> None:
    refused = strike(bench.session, bench.built(), seq, "wrong", "qmoor")
    assert (refused.entry, [finding.code for finding in refused.findings]) == (None, ["ENT004"])


def test_the_issue_of_a_unit_cannot_be_struck_out(bench: Any) -> None:
    refused = strike(bench.session, bench.unit(), 1, "wrong", "qmoor")
    assert (refused.entry, [finding.code for finding in refused.findings]) == (None, ["ENT003"])


def test_a_strike_out_needs_a_reason(bench: Any) -> None:
    with pytest.raises(CannotDo):
        strike(bench.session, bench.built(), 2, "  ", "qmoor")


def test_withdrawing_a_release_takes_quality_and_brings_the_state_back(bench: Any) -> None:
    serial = bench.built()
    released = release(bench.session, serial, "qmoor").judged.entries[-1]
    assert strike(bench.session, serial, released.seq, "wrong customer", "tkiln").entry is None
    withdrawn = strike(bench.session, serial, released.seq, "wrong customer", "qmoor")
    assert withdrawn.entry is not None
    with bench.session.store.reading() as records:
        assert records.unit(serial).state == "inspection"
        assert judge(bench.session, records, serial).verdict.state == "inspection"
