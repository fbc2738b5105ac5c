"""Stops: in whatever state a unit is, one or a whole list, and nothing goes on until it is decided."""

from __future__ import annotations

from typing import Any

import pytest

from traveler.finding import CannotDo, Place
from traveler.jobs.shipping import crate, place, release, ship
from traveler.jobs.stop import ListedSerial, refused, stop, stop_all
from traveler.record.entry import Shipped
from traveler.trace.judging import judge

TO = Shipped(customer="Aldermoor Weavers")
LEFT = "10-4/side=left"


def entries_of(bench: Any, serial: str) -> Any:
    with bench.session.store.reading() as records:
        return records.entries(serial)


def state_of(bench: Any, serial: str) -> str:
    with bench.session.store.reading() as records:
        return str(records.unit(serial).state)


def brought(bench: Any, serial: str, state: str) -> str:
    """The built unit, released, crated, placed and shipped as far as ``state``."""
    steps = ["released", "crated", "in stock", "shipped"]
    for step in steps[: steps.index(state) + 1]:
        if step == "released":
            assert release(bench.session, serial, "qmoor").taken
            bench.record(serial, bench.fillings(serial, ["C"]))
        elif step == "crated":
            assert crate(bench.session, serial, "pstrap").taken
        elif step == "in stock":
            assert place(bench.session, serial, "Bay 3", "pstrap").taken
        else:
            assert ship(bench.session, serial, TO, "sdock").taken
    return serial


def test_a_stop_is_kept_with_its_words_and_stops_the_unit(bench: Any) -> None:
    serial = bench.built()
    stopped = stop(bench.session, serial, "  Weld cracked\nat the foot ", "tkiln")
    assert (stopped.entry.body.what, stopped.entry.by, stopped.new) == (
        "Weld cracked at the foot",
        "tkiln",
        True,
    )
    assert (stopped.was, stopped.where, state_of(bench, serial)) == ("inspection", "stopped", "stopped")
    assert entries_of(bench, serial)[-1] == stopped.entry


def test_a_slot_stopped_holds_the_release_up_and_the_unit_stays_in_its_state(bench: Any) -> None:
    serial = bench.built()
    stopped = stop(bench.session, serial, "hinge loose", "iwren", slot=LEFT)
    assert (stopped.entry.slot, stopped.where) == (LEFT, "inspection")
    held = release(bench.session, serial, "qmoor")
    assert {(finding.code, finding.place.slot) for finding in held.findings} == {("NON001", LEFT)}


@pytest.mark.parametrize("state", ["released", "crated", "in stock", "shipped"])
def test_nothing_goes_on_with_a_stopped_unit(bench: Any, state: str) -> None:
    serial = brought(bench, bench.built(), state)
    count = len(entries_of(bench, serial))
    assert stop(bench.session, serial, "wrong bolts", "pstrap").new
    for taken in (
        release(bench.session, serial, "qmoor"),
        crate(bench.session, serial, "pstrap"),
        place(bench.session, serial, "Bay 4", "pstrap"),
        ship(bench.session, serial, TO, "sdock"),
    ):
        assert {"GAT001", "NON001"} <= {finding.code for finding in taken.findings}
    assert (len(entries_of(bench, serial)), state_of(bench, serial)) == (count + 1, "stopped")


def test_a_stopped_unit_still_says_where_it_is(bench: Any) -> None:
    placed, shipped = bench.built(), bench.built()
    brought(bench, placed, "in stock")
    brought(bench, shipped, "shipped")
    assert stop(bench.session, placed, "lot P-2112 is soft", "qmoor").where == "stopped, in stock at Bay 3"
    found = stop(bench.session, shipped, "lot P-2112 is soft", "qmoor")
    assert (found.was, found.where) == (
        "shipped to Aldermoor Weavers on 2026-11-02",
        "stopped, shipped to Aldermoor Weavers on 2026-11-02",
    )


def test_the_same_stop_is_written_once_while_it_is_open(bench: Any) -> None:
    serial = bench.unit()
    first = stop(bench.session, serial, "dent in the tread", "tkiln")
    again = stop(bench.session, serial, "dent  in the tread", "iwren")
    other = stop(bench.session, serial, "scratch", "iwren")
    assert (again.entry, again.new, other.new) == (first.entry, False, True)
    assert len(entries_of(bench, serial)) == 3


@pytest.mark.parametrize(
    ("by", "slot", "code"),
    [("nobody", None, "PER001"), ("oldhand", None, "PER003"), ("tkiln", "10-77", "ENT001")],
)
def test_a_stop_that_cannot_stand_is_not_written(bench: Any, by: str, slot: str | None, code: str) -> None:
    serial = bench.unit()
    found = stop(bench.session, serial, "dent", by, slot=slot)
    assert (found.entry, found.new, [finding.code for finding in found.findings]) == (None, False, [code])
    assert (len(entries_of(bench, serial)), state_of(bench, serial)) == (1, "issued")


def test_a_stop_says_what_is_wrong(bench: Any) -> None:
    with pytest.raises(CannotDo, match="what is wrong"):
        stop(bench.session, bench.unit(), " \n", "tkiln")


def test_every_unit_of_a_list_is_stopped_and_what_cannot_be_is_told_with_its_line(bench: Any) -> None:
    first, second = bench.unit(), bench.unit()
    wrong = first[:-1] + ("A" if first[-1] != "A" else "B")
    listed = [
        ListedSerial(f" {first.lower()} ", Place("list.csv", 2)),
        ListedSerial(wrong, Place("list.csv", 3)),
        ListedSerial("ST2-2645-9998R", Place("list.csv", 4)),
        ListedSerial(first, Place("list.csv", 5)),
        second,
    ]
    done = tuple(stop_all(bench.session, listed, "lot on hold", "qmoor"))
    assert [(stopping.serial, stopping.new) for stopping in done if stopping.entry is not None] == [
        (first, True),
        (second, True),
    ]
    told = [
        (stopping.serial, stopping.findings[0].code, str(stopping.findings[0].place))
        for stopping in refused(done)
    ]
    assert (wrong, "SER001", "list.csv:3") in told
    assert [code for _, code, _ in told][1:] in (["REC001"], ["SER001"])
    assert {state_of(bench, first), state_of(bench, second)} == {"stopped"}


def test_a_list_given_again_adds_nothing(bench: Any) -> None:
    serials = [bench.unit(), bench.unit()]
    assert all(stopping.new for stopping in stop_all(bench.session, serials, "lot on hold", "qmoor"))
    again = tuple(stop_all(bench.session, serials, "lot on hold", "qmoor"))
    assert [stopping.new for stopping in again] == [False, False]
    assert [len(entries_of(bench, serial)) for serial in serials] == [2, 2]


def test_a_list_by_somebody_unknown_stops_nothing(bench: Any) -> None:
    serial = bench.unit()
    (found,) = stop_all(bench.session, [ListedSerial(serial, Place("list.csv", 2))], "lot on hold", "nobody")
    assert [(finding.code, str(finding.place)) for finding in found.findings] == [("PER001", "list.csv:2")]
    assert state_of(bench, serial) == "issued"


def test_a_stopped_lot_stops_what_it_is_fitted_in(bench: Any) -> None:
    """The lot is a unit of its own; the person who carries it hears of the stop."""
    carrier, lot = bench.unit(), bench.unit()
    made = bench.fillings(carrier)
    bench.record(
        carrier, [replace_value(filling, lot) if filling.slot.id == "10-2" else filling for filling in made]
    )
    made_of = [entry for entry in entries_of(bench, carrier) if entry.body.kind == "fitted"]
    assert made_of
    stop(bench.session, lot, "too soft", "qmoor")
    with bench.session.store.reading() as records:
        found = {finding.code for finding in judge(bench.session, records, carrier).verdict.findings}
    assert "PAR003" in found


def replace_value(filling: Any, value: str) -> Any:
    from dataclasses import replace

    return replace(filling, value=value)
