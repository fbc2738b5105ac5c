"""Release, crate, place, ship: in this order, by who may, with nothing in the way."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from traveler.finding import blocking
from traveler.jobs.shipping import crate, place, release, ship
from traveler.record.chain import verify_rows
from traveler.record.entry import Crated, Released, Shipped
from traveler.record.plans import known_unit

TO = Shipped(customer="Aldermoor Weavers")


def state_of(bench: Any, serial: str) -> str:
    with bench.session.store.reading() as records:
        return known_unit(records, serial).state


def entries_of(bench: Any, serial: str) -> Any:
    with bench.session.store.reading() as records:
        return records.entries(serial)


def test_a_unit_goes_from_release_to_shipment_with_its_state(bench: Any) -> None:
    serial = bench.built()
    states = [state_of(bench, serial)]
    for taken in (
        lambda: release(bench.session, serial, "qmoor"),
        lambda: bench.record(serial, bench.fillings(serial, ["C"])),
        lambda: crate(bench.session, serial, "pstrap"),
        lambda: place(bench.session, serial, "Bay 3", "pstrap"),
        lambda: place(bench.session, serial, "Bay 4", "pstrap"),
        lambda: ship(bench.session, serial, TO, "sdock"),
    ):
        done = taken()
        assert not blocking(getattr(done, "findings", ())), done.findings
        states.append(state_of(bench, serial))
    assert states == ["inspection", "released", "released", "crated", "in stock", "in stock", "shipped"]


def test_the_release_seals_the_chain_as_it_stood(bench: Any) -> None:
    serial = bench.built()
    before = entries_of(bench, serial)
    release(bench.session, serial, "qmoor")
    entries = entries_of(bench, serial)
    body = entries[-1].body
    assert isinstance(body, Released)
    assert (body.count, body.head) == (len(before), before[-1].hash)
    with bench.session.store.reading() as records:
        rows = records.rows(serial)
    assert verify_rows(rows, head=body.head, count=body.count) == []
    assert [finding.code for finding in verify_rows(rows[:5], head=body.head, count=body.count)] == ["CHN003"]


def test_the_crate_keeps_the_mass_that_was_weighed(bench: Any) -> None:
    serial = bench.built()
    release(bench.session, serial, "qmoor")
    bench.record(serial, bench.fillings(serial, ["C"]))
    crate(bench.session, serial, "pstrap")
    body = entries_of(bench, serial)[-1].body
    assert isinstance(body, Crated)
    assert body.gross_mass == "7.00 kg"


def test_a_refused_step_leaves_no_trace(bench: Any) -> None:
    serial = bench.unit()
    count = len(entries_of(bench, serial))
    for taken in (
        release(bench.session, serial, "qmoor"),
        crate(bench.session, serial, "pstrap"),
        place(bench.session, serial, "Bay 3", "pstrap"),
        ship(bench.session, serial, TO, "sdock"),
    ):
        assert not taken.taken
        assert "GAT001" in {finding.code for finding in taken.findings}
    assert (len(entries_of(bench, serial)), state_of(bench, serial)) == (count, "issued")


def test_nothing_is_crated_before_release(bench: Any) -> None:
    serial = bench.built()
    bench.record(serial, bench.fillings(serial, ["C"]))
    assert "GAT001" in {finding.code for finding in crate(bench.session, serial, "pstrap").findings}


@pytest.mark.parametrize("missing", ["C-1/item=2", "C-2", "C-3", "C/sign"])
def test_a_crate_is_not_closed_with_something_open(bench: Any, missing: str) -> None:
    serial = bench.built()
    release(bench.session, serial, "qmoor")
    bench.record(serial, [filling for filling in bench.fillings(serial, ["C"]) if filling.slot.id != missing])
    refused = crate(bench.session, serial, "pstrap")
    assert missing in {finding.place.slot for finding in refused.findings}


def test_a_crate_that_weighs_too_little_is_not_closed(bench: Any) -> None:
    serial = bench.built()
    release(bench.session, serial, "qmoor")
    made = bench.fillings(serial, ["C"])
    bench.record(
        serial, [replace(filling, value="1.00") if filling.slot.id == "C-3" else filling for filling in made]
    )
    found = {finding.code: finding for finding in crate(bench.session, serial, "pstrap").findings}
    assert "PAC002" in found
    assert "Step stool" in found["PAC002"].hint


@pytest.mark.parametrize(("by", "code"), [("tkiln", "GAT002"), ("iwren", "GAT002"), ("nobody", "PER001")])
def test_who_may_not_release_is_told_why(bench: Any, by: str, code: str) -> None:
    serial = bench.built()
    assert code in {finding.code for finding in release(bench.session, serial, by).findings}
    assert state_of(bench, serial) == "inspection"


def test_a_step_cannot_be_taken_twice(bench: Any) -> None:
    serial = bench.built()
    assert release(bench.session, serial, "qmoor").taken
    again = release(bench.session, serial, "qmoor")
    assert "GAT004" in {finding.code for finding in again.findings}


def test_a_step_is_dated_when_it_was_done_and_recorded_now(bench: Any) -> None:
    serial = bench.built()
    done = bench.session.now
    bench.later(90)
    assert release(bench.session, serial, "qmoor", done).taken
    last = entries_of(bench, serial)[-1]
    assert (last.at, last.recorded) == (done, bench.session.now)
