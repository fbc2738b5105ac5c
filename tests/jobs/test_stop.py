"""Stops: in whatever state a unit is, one or a whole list, and nothing goes on until it is decided."""

from __future__ import annotations

from typing import Any

import pytest

from traveler.finding import Place
from traveler.jobs.cannot import CannotDo
from traveler.jobs.judge import judge
from traveler.jobs.life import crate, place, release, ship
from traveler.jobs.stop import Listed, refused, stop, stop_all
from traveler.record.entry import Shipped

TO = Shipped(customer="Aldermoor Weavers")
LEFT = "10-4/side=left"


def entries_of(bench: Any, serial: str) -> Any:
    with bench.office.store.reading() as records:
        return records.entries(serial)


def state_of(bench: Any, serial: str) -> str:
    with bench.office.store.reading() as records:
        return str(records.unit(serial).state)


def brought(bench: Any, serial: str, state: str) -> str:
    """The built unit, released, crated, placed and shipped as far as ``state``."""
    steps = ["released", "crated", "in stock", "shipped"]
    for step in steps[: steps.index(state) + 1]:
        if step == "released":
            assert release(bench.office, serial, "qmoor").taken
            bench.record(serial, bench.fillings(serial, ["C"]))
        elif step == "crated":
            assert crate(bench.office, serial, "pstrap").taken
        elif step == "in stock":
            assert place(bench.office, serial, "Bay 3", "pstrap").taken
        else:
            assert ship(bench.office, serial, TO, "sdock").taken
    return serial


def test_a_stop_is_kept_with_its_words_and_stops_the_unit(bench: Any) -> None:
    serial = bench.built()
    stopped = stop(bench.office, serial, "  Weld cracked\nat the foot ", "tkiln")
    assert (stopped.entry.body.what, stopped.entry.by, stopped.new) == (
        "Weld cracked at the foot",
        "tkiln",
        True,
    )
    assert (stopped.was, stopped.where, state_of(bench, serial)) == ("inspection", "stopped", "stopped")
    assert entries_of(bench, serial)[-1] == stopped.entry


def test_a_slot_stopped_holds_the_release_up_and_the_unit_stays_in_its_state(bench: Any) -> None:
    serial = bench.built()
    stopped = stop(bench.office, serial, "hinge loose", "iwren", slot=LEFT)
    assert (stopped.entry.slot, stopped.where) == (LEFT, "inspection")
    held = release(bench.office, serial, "qmoor")
    assert {(one.code, one.place.slot) for one in held.findings} == {("NON001", LEFT)}


@pytest.mark.parametrize("state", ["released", "crated", "in stock", "shipped"])
def test_nothing_goes_on_with_a_stopped_unit(bench: Any, state: str) -> None:
    serial = brought(bench, bench.built(), state)
    count = len(entries_of(bench, serial))
    assert stop(bench.office, serial, "wrong bolts", "pstrap").new
    for taken in (
        release(bench.office, serial, "qmoor"),
        crate(bench.office, serial, "pstrap"),
        place(bench.office, serial, "Bay 4", "pstrap"),
        ship(bench.office, serial, TO, "sdock"),
    ):
        assert {"GAT001", "NON001"} <= {one.code for one in taken.findings}
    assert (len(entries_of(bench, serial)), state_of(bench, serial)) == (count + 1, "stopped")


def test_a_stopped_unit_still_says_where_it_is(bench: Any) -> None:
    placed, shipped = bench.built(), bench.built()
    brought(bench, placed, "in stock")
    brought(bench, shipped, "shipped")
    assert stop(bench.office, placed, "lot P-2112 is soft", "qmoor").where == "stopped, in stock at Bay 3"
    found = stop(bench.office, shipped, "lot P-2112 is soft", "qmoor")
    assert (found.was, found.where) == (
        "shipped to Aldermoor Weavers on 2026-11-02",
        "stopped, shipped to Aldermoor Weavers on 2026-11-02",
    )


def test_the_same_stop_is_written_once_while_it_is_open(bench: Any) -> None:
    serial = bench.unit()
    first = stop(bench.office, serial, "dent in the tread", "tkiln")
    again = stop(bench.office, serial, "dent  in the tread", "iwren")
    other = stop(bench.office, serial, "scratch", "iwren")
    assert (again.entry, again.new, other.new) == (first.entry, False, True)
    assert len(entries_of(bench, serial)) == 3


@pytest.mark.parametrize(
    ("by", "slot", "code"),
    [("nobody", None, "PER001"), ("oldhand", None, "PER003"), ("tkiln", "10-77", "ENT001")],
)
def test_a_stop_that_cannot_stand_is_not_written(bench: Any, by: str, slot: str | None, code: str) -> None:
    serial = bench.unit()
    found = stop(bench.office, serial, "dent", by, slot=slot)
    assert (found.entry, found.new, [one.code for one in found.findings]) == (None, False, [code])
    assert (len(entries_of(bench, serial)), state_of(bench, serial)) == (1, "issued")


def test_a_stop_says_what_is_wrong(bench: Any) -> None:
    with pytest.raises(CannotDo, match="what is wrong"):
        stop(bench.office, bench.unit(), " \n", "tkiln")


def test_every_unit_of_a_list_is_stopped_and_what_cannot_be_is_told_with_its_line(bench: Any) -> None:
    first, second = bench.unit(), bench.unit()
    wrong = first[:-1] + ("A" if first[-1] != "A" else "B")
    listed = [
        Listed(f" {first.lower()} ", Place("list.csv", 2)),
        Listed(wrong, Place("list.csv", 3)),
        Listed("ST2-2645-9998R", Place("list.csv", 4)),
        Listed(first, Place("list.csv", 5)),
        second,
    ]
    done = tuple(stop_all(bench.office, listed, "lot on hold", "qmoor"))
    assert [(one.serial, one.new) for one in done if one.entry is not None] == [(first, True), (second, True)]
    told = [(one.serial, one.findings[0].code, str(one.findings[0].place)) for one in refused(done)]
    assert (wrong, "SER001", "list.csv:3") in told
    assert [code for _, code, _ in told][1:] in (["REC001"], ["SER001"])
    assert {state_of(bench, first), state_of(bench, second)} == {"stopped"}


def test_a_list_given_again_adds_nothing(bench: Any) -> None:
    serials = [bench.unit(), bench.unit()]
    assert all(one.new for one in stop_all(bench.office, serials, "lot on hold", "qmoor"))
    again = tuple(stop_all(bench.office, serials, "lot on hold", "qmoor"))
    assert [one.new for one in again] == [False, False]
    assert [len(entries_of(bench, one)) for one in serials] == [2, 2]


def test_a_list_by_somebody_unknown_stops_nothing(bench: Any) -> None:
    serial = bench.unit()
    (found,) = stop_all(bench.office, [Listed(serial, Place("list.csv", 2))], "lot on hold", "nobody")
    assert [(one.code, str(one.place)) for one in found.findings] == [("PER001", "list.csv:2")]
    assert state_of(bench, serial) == "issued"


def test_a_stopped_lot_stops_what_it_is_fitted_in(bench: Any) -> None:
    """The lot is a unit of its own; whoever carries it hears of the stop."""
    carrier, lot = bench.unit(), bench.unit()
    made = bench.fillings(carrier)
    bench.record(carrier, [replace_value(one, lot) if one.slot.id == "10-2" else one for one in made])
    made_of = [one for one in entries_of(bench, carrier) if one.body.kind == "fitted"]
    assert made_of
    stop(bench.office, lot, "too soft", "qmoor")
    with bench.office.store.reading() as records:
        found = {one.code for one in judge(bench.office, records, carrier).verdict.findings}
    assert "PAR003" in found


def replace_value(filling: Any, value: str) -> Any:
    from dataclasses import replace

    return replace(filling, value=value)
