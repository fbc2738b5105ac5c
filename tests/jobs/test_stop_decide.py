"""Decisions on stops: by whom, with what they need, and what is measured again before anything goes on."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from traveler.finding import CannotDo
from traveler.jobs.append import strike
from traveler.jobs.shipping import place, release, ship
from traveler.jobs.stop import Disposition, decide, stop
from traveler.record.entry import Shipped
from traveler.trace.floor import stops_of_shop
from traveler.trace.judging import judge

LEFT, RIGHT = "10-4/side=left", "10-4/side=right"


def codes(found: Any) -> list[str]:
    return [finding.code for finding in found]


def state_of(bench: Any, serial: str) -> str:
    with bench.session.store.reading() as records:
        return str(judge(bench.session, records, serial).verdict.state)


def stopped(bench: Any, serial: str, slot: str | None = None) -> int:
    entry = stop(bench.session, serial, "play after a knock", "iwren", slot=slot).entry
    assert entry is not None
    return int(entry.seq)


def read(bench: Any, serial: str, *slots: str) -> None:
    """Reads these slots again, well inside their limits."""
    made = bench.fillings(serial)
    bench.record(serial, [filling for filling in made if filling.slot.id in slots])


def test_a_reworked_unit_is_measured_inspected_and_released_anew(bench: Any) -> None:
    serial = bench.built()
    assert release(bench.session, serial, "qmoor").taken
    number = stopped(bench, serial)
    done = decide(
        bench.session,
        serial,
        number,
        Disposition("rework", text="new hinge", measure_again=("play",)),
        "rhale",
    )
    assert done.entry is not None
    assert (done.entry.slot, done.entry.body.measure_again) == (None, ("play",))
    assert state_of(bench, serial) == "inspection"
    bench.later()
    read(bench, serial, LEFT)
    assert "NON003" in codes(release(bench.session, serial, "qmoor").findings), "one side is still to be read"
    read(bench, serial, RIGHT)
    read(
        bench,
        serial,
        *(filling.slot.id for filling in bench.fillings(serial) if filling.slot.id.startswith("Q")),
    )
    again = release(bench.session, serial, "qmoor")
    assert again.taken, again.findings


def test_a_stopped_slot_is_always_measured_again_after_a_rework(bench: Any) -> None:
    serial = bench.built()
    number = stopped(bench, serial, LEFT)
    assert decide(bench.session, serial, number, Disposition("repair"), "qmoor").entry.slot == LEFT
    bench.later()
    read(bench, serial, RIGHT)
    assert ("NON003", LEFT) in [
        (finding.code, finding.place.slot) for finding in release(bench.session, serial, "qmoor").findings
    ]
    read(bench, serial, LEFT)
    assert "NON003" not in codes(release(bench.session, serial, "qmoor").findings)


def test_no_fault_lets_the_work_go_on_where_it_was(bench: Any) -> None:
    serial = bench.built()
    number = stopped(bench, serial)
    assert (
        decide(bench.session, serial, number, Disposition("no_fault", text="dirt"), "rhale").entry is not None
    )
    assert state_of(bench, serial) == "inspection"
    assert release(bench.session, serial, "qmoor").taken


def test_a_scrapped_unit_goes_no_further_and_nothing_is_decided_on_it(bench: Any) -> None:
    serial = bench.built()
    first, second = stopped(bench, serial), stop(bench.session, serial, "dent", "tkiln").entry.seq
    scrapped = decide(bench.session, serial, first, Disposition("scrap"), "qmoor").entry
    assert state_of(bench, serial) == "scrapped"
    for number in (first, second):
        assert codes(decide(bench.session, serial, number, Disposition("no_fault"), "qmoor").findings) == [
            "GAT001"
        ]
    assert "GAT001" in codes(release(bench.session, serial, "qmoor").findings)
    assert strike(bench.session, serial, scrapped.seq, "the wrong serial", "qmoor").entry is not None
    assert state_of(bench, serial) == "stopped", "the stop is open again"


def test_use_as_is_takes_a_concession_and_quality(bench: Any) -> None:
    serial = bench.built()
    number = stopped(bench, serial, LEFT)
    assert codes(decide(bench.session, serial, number, Disposition("use_as_is"), "qmoor").findings) == [
        "NON002"
    ]
    asked = Disposition("use_as_is", concession=" C-0012 ")
    assert codes(decide(bench.session, serial, number, asked, "rhale").findings) == ["GAT002"]
    done = decide(bench.session, serial, number, asked, "qmoor")
    assert done.entry.body.concession == "C-0012"
    assert release(bench.session, serial, "qmoor").taken


def test_a_concession_goes_with_what_gives_something_away(bench: Any) -> None:
    serial = bench.unit()
    number = stopped(bench, serial)
    with pytest.raises(CannotDo, match="a concession does not go with"):
        decide(bench.session, serial, number, Disposition("no_fault", concession="C-1"), "qmoor")
    assert (
        decide(bench.session, serial, number, Disposition("repair", concession="C-1"), "qmoor").entry
        is not None
    )


def test_a_unit_returned_to_its_supplier_stays_stopped_until_it_is_decided_again(bench: Any) -> None:
    serial = bench.built()
    number = stopped(bench, serial)
    assert decide(bench.session, serial, number, Disposition("return_to_supplier"), "qmoor").entry is not None
    assert state_of(bench, serial) == "stopped"
    assert decide(bench.session, serial, number, Disposition("no_fault"), "qmoor").entry is not None
    assert state_of(bench, serial) == "inspection"


@pytest.mark.parametrize("number", [0, -1, 1, 2, 999])
def test_a_decision_names_a_stop_of_the_unit(bench: Any, number: int) -> None:
    serial = bench.built()
    real = stopped(bench, serial)
    refused = decide(bench.session, serial, number, Disposition("no_fault"), "qmoor")
    assert (refused.entry, codes(refused.findings)) == (None, ["NON004"])
    assert refused.findings[0].hint == f"open: #{real}"


def test_what_is_to_be_measured_again_exists(bench: Any) -> None:
    serial = bench.built()
    number = stopped(bench, serial)
    refused = decide(bench.session, serial, number, Disposition("rework", measure_again=("plya",)), "qmoor")
    assert [(finding.code, finding.hint) for finding in refused.findings] == [
        ("ENT001", "did you mean 'play'?")
    ]
    pointless = decide(
        bench.session, serial, number, Disposition("no_fault", measure_again=("play",)), "qmoor"
    )
    assert codes(pointless.findings) == ["ENT001"]


@pytest.mark.parametrize(
    ("by", "code"), [("tkiln", "GAT002"), ("iwren", "GAT002"), ("nobody", "PER001"), ("oldhand", "PER003")]
)
def test_who_may_not_decide_is_told_why(bench: Any, by: str, code: str) -> None:
    serial = bench.unit()
    refused = decide(bench.session, serial, stopped(bench, serial), Disposition("no_fault"), by)
    assert set(codes(refused.findings)) == {code}
    assert state_of(bench, serial) == "stopped"


def test_a_decision_is_dated_neither_before_its_stop_nor_in_the_future(bench: Any) -> None:
    serial = bench.built()
    number, now = stopped(bench, serial), bench.session.now
    for hours, code in ((-1, "SEQ010"), (1, "SEQ005")):
        at = now + timedelta(hours=hours)
        refused = decide(bench.session, serial, number, Disposition("no_fault"), "qmoor", at=at)
        assert codes(refused.findings) == [code]


def test_of_two_decisions_the_later_counts(bench: Any) -> None:
    serial = bench.built()
    number = stopped(bench, serial)
    assert decide(bench.session, serial, number, Disposition("no_fault"), "qmoor").entry is not None
    assert decide(bench.session, serial, number, Disposition("scrap"), "qmoor").entry is not None
    assert state_of(bench, serial) == "scrapped"


def listed(bench: Any, **asked: Any) -> list[tuple[str, int, str, str]]:
    with bench.session.store.reading() as records:
        found = stops_of_shop(records, **asked)
    return [(stop.unit.serial, stop.stop.entry.seq, stop.where, stop.state) for stop in found]


def test_the_list_of_the_shop_shows_what_is_open_the_oldest_first(bench: Any) -> None:
    assert listed(bench) == []
    first, second = bench.built(), bench.unit()
    late = stopped(bench, second)
    bench.later()
    early = stopped(bench, first, LEFT)
    assert listed(bench) == [(second, late, "stopped", "open"), (first, early, "inspection", "open")]
    decided = decide(bench.session, second, late, Disposition("no_fault"), "qmoor").entry
    assert listed(bench) == [(first, early, "inspection", "open")]
    assert listed(bench, every=True) == [
        (second, late, "issued", "no fault"),
        (first, early, "inspection", "open"),
    ]
    assert strike(bench.session, second, decided.seq, "wrong unit", "qmoor").entry is not None
    assert (second, late, "stopped", "open") in listed(bench), "a decision struck out opens the stop again"


def test_a_unit_with_the_customer_is_stopped_decided_and_with_the_customer_again(bench: Any) -> None:
    serial = bench.built()
    assert release(bench.session, serial, "qmoor").taken
    bench.record(serial, bench.fillings(serial, ["C"]))
    from traveler.jobs.shipping import crate

    assert crate(bench.session, serial, "pstrap").taken
    assert place(bench.session, serial, "Bay 3", "pstrap").taken
    assert ship(bench.session, serial, Shipped(customer="Aldermoor Weavers"), "sdock").taken
    number = stopped(bench, serial)
    assert listed(bench)[0][2] == "stopped, shipped to Aldermoor Weavers on 2026-11-02"
    assert decide(bench.session, serial, number, Disposition("no_fault"), "qmoor").entry is not None
    assert state_of(bench, serial) == "shipped"
