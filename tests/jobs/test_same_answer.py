"""Commands beside each other: where two of them answer one question, they give one answer."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from traveler.definition.plan import SlotKind
from traveler.jobs.append import note, strike
from traveler.record.entry import Entry, Stopped, Struck
from traveler.record.light import light_entries
from traveler.sheets.views.ledger import Ledger
from traveler.sheets.views.readings import record_view
from traveler.sheets.words import Words
from traveler.shop.session import Session
from traveler.trace.dossier.context import life_of
from traveler.trace.dossier.readings import readings_shown
from traveler.trace.history import history
from traveler.trace.judging import judge
from traveler.trace.stats.unit_readings import unit_readings
from traveler.verdict.judge import Judged
from traveler.verdict.rows import Weigher


@pytest.fixture
def judged(bench: Any) -> tuple[Session, Judged]:
    """A built unit with a struck entry, a late one, and a strike-out of a stop, as an old record may hold."""
    serial = bench.built()
    bench.later(minutes=40 * 60)
    session = bench.session
    late = note(session, serial, "found on the bench", "qmoor", at=session.now - timedelta(hours=30))
    typo = note(session, serial, "a typo", "qmoor")
    assert late.entry is not None
    assert typo.entry is not None
    assert strike(session, serial, typo.entry.seq, "mistyped", "qmoor").entry is not None
    stop = session.draft(serial, "qmoor", Stopped(what="squeaks"))
    with session.store.transaction() as work:
        (kept,) = work.append_all([stop], session.now)
        strike_out = session.draft(serial, "qmoor", Struck(strikes=kept.seq, reason="I changed my mind"))
        work.append_all([strike_out], session.now)
        return session, judge(session, work, serial)


def ledger(session: Session, judged: Judged) -> Ledger:
    shop = session.shop
    return Ledger(judged.plan, judged.entries, judged.verdict, shop.settings, shop.people, Words("en", {}))


def seen_light(session: Session, judged: Judged) -> set[int]:
    """Numbers of the entries that a question over many units sees."""
    serial, kinds = judged.unit.serial, {entry.body.kind for entry in judged.entries}
    with session.store.reading() as records:
        return {entry.seq for entry in light_entries(records, [serial], kinds)[serial]}


def lines(session: Session, judged: Judged) -> list[Any]:
    return list(history(judged.unit, judged.entries, judged.plan, session.shop.settings).lines)


STRUCK: dict[str, Callable[[Session, Judged], set[int]]] = {
    "the history": lambda session, judged: {
        line.entry.seq for line in lines(session, judged) if line.struck_by is not None
    },
    "the printed record": lambda session, judged: set(ledger(session, judged).struck),
    "the dossier": lambda _, judged: {line.seq for line in life_of(judged.unit, judged.case) if line.struck},
    "questions over many units": lambda session, judged: (
        {entry.seq for entry in judged.entries} - seen_light(session, judged)
    ),
}


@pytest.mark.parametrize("answer", STRUCK.values(), ids=STRUCK)
def test_everybody_takes_the_same_entries_for_struck_out(answer: Any, judged: Any) -> None:
    session, unit = judged
    in_verdict = {entry.seq for entry in unit.case.entries} - {entry.seq for entry in unit.case.standing}
    assert len(in_verdict) == 1
    assert answer(session, unit) == in_verdict


def test_a_stop_that_somebody_struck_out_stops_in_the_verdict_and_on_paper(judged: Any) -> None:
    session, unit = judged
    assert unit.case.state == "stopped"
    assert [stop.what for stop in ledger(session, unit).stops] == ["squeaks"]


LATE: dict[str, Callable[[Session, Judged], set[int]]] = {
    "the history": lambda session, judged: {
        line.entry.seq for line in lines(session, judged) if line.late is not None
    },
    "the printed record": lambda session, judged: {
        entry.seq for entry in judged.entries if ledger(session, judged).late(entry)
    },
    "the dossier": lambda _, judged: {
        line.seq
        for line in life_of(judged.unit, judged.case)
        if any(mark.startswith("late") for mark in line.marks)
    },
    "the verdict": lambda _, judged: {
        finding.place.entry for finding in judged.verdict.findings if finding.code == "SEQ007"
    },
}


@pytest.mark.parametrize("answer", LATE.values(), ids=LATE)
def test_everybody_takes_the_same_entries_for_late(answer: Any, judged: Any) -> None:
    session, unit = judged
    late = [entry.seq for entry in unit.entries if entry.body.kind == "noted" and "bench" in entry.body.text]
    assert answer(session, unit) == set(late)


def deciding(entries: dict[str, Entry]) -> dict[str, int]:
    return {slot: entry.seq for slot, entry in entries.items()}


def test_everybody_takes_the_same_readings(judged: Any) -> None:
    """The printed record, the certificate, the dossier and statistics show what decides in the verdict."""
    session, unit = judged
    shop, rows = session.shop, unit.verdict.readings
    expected = {slot: row.seq for slot, row in rows.items() if not row.worked}
    assert expected
    slots = [slot for slot in unit.plan.slots() if slot.kind is SlotKind.READING]
    book = ledger(session, unit)
    on_record = {slot.id: entry for slot in slots if (entry := book.value(slot)) is not None}
    assert deciding(on_record) == expected
    certificate = record_view(unit.verdict, unit.entries, shop.people, shop.settings.time_zone)
    shown = {slot.id: view for slot in slots if (view := certificate.slot(slot)) is not None}
    assert {slot: (view.by, view.gauge) for slot, view in shown.items()} == {
        slot: (rows[slot].by, rows[slot].gauge) for slot in expected
    }
    in_dossier = {reading.slot: reading.seq for reading in readings_shown(unit.case, unit.verdict, {})}
    assert in_dossier == {slot: row.seq for slot, row in rows.items()}
    weigher = Weigher(shop.settings, shop.gauges, shop.zone)
    told = unit_readings(unit.unit, unit.plan, unit.entries, weigher)
    counted = {slot.spot.slot.id: slot.stands for slot in told.slots if slot.stands is not None}
    assert {slot: counted[slot].seq for slot in expected} == expected
    assert {slot: counted[slot].value for slot in expected} == {slot: rows[slot].value for slot in expected}
