"""The state of a unit, from its entries alone."""

from __future__ import annotations

import pytest

from traveler.record.entry import (
    Complained,
    Crated,
    Decided,
    Noted,
    Placed,
    Reprinted,
    Shipped,
    Stopped,
    Struck,
    Ticked,
)
from traveler.verdict.state import state_after


def state(book, *, with_plan: bool = True) -> str:
    return str(state_after(tuple(book.entries), book.plan if with_plan else None))


def test_a_unit_lives_from_issue_to_shipment(book):
    lived = []
    book.issue()
    lived.append(state(book))
    book.work("10")
    lived.append(state(book))
    book.work("20", "30", "40")
    lived.append(state(book))
    book.work("Q")
    lived.append(state(book))
    book.release()
    lived.append(state(book))
    book.work("C")
    lived.append(state(book))
    book.write(Crated(), by="pack")
    lived.append(state(book))
    book.write(Placed(place="A3"), by="pack")
    lived.append(state(book))
    book.write(Shipped(customer="Ash Weavers"), by="ship")
    lived.append(state(book))
    assert lived == [
        "issued", "building", "inspection", "inspection", "released", "released", "crated", "in stock",
        "shipped",
    ]  # fmt: skip


def test_printing_and_remarks_do_not_begin_the_build(book):
    book.issue()
    book.write(Noted(text="urgent"), by="boss")
    book.write(Reprinted(sheet="traveler", copy_number=2), by="boss")
    assert state(book) == "issued"


def test_a_complaint_leaves_a_shipped_unit_shipped(book):
    book.crated()
    book.write(Shipped(customer="Ash Weavers"), by="ship")
    book.write(Complained(text="noise"), by="boss")
    assert state(book) == "shipped"


def test_without_the_plan_the_first_final_check_shows_the_inspection(book):
    book.issue()
    book.work("10", "20", "30", "40")
    assert state(book, with_plan=False) == "building"
    book.write(Ticked(), "Q-1", by="insp")
    assert state(book, with_plan=False) == "inspection"


@pytest.mark.parametrize(
    ("decision", "expected"),
    [
        ("rework", "inspection"),
        ("repair", "inspection"),
        ("use_as_is", "released"),
        ("no_fault", "released"),
        ("return_to_supplier", "stopped"),
        ("scrap", "scrapped"),
    ],
)
def test_after_a_stop_the_decision_says_how_it_goes_on(book, decision, expected):
    book.released()
    stop = book.write(Stopped(what="dent"), by="insp")
    assert state(book) == "stopped"
    book.write(Decided(stop=stop.seq, decision=decision, concession="C-1"), by="qual")
    assert state(book) == expected


def test_a_reworked_unit_is_released_again(book):
    book.released()
    stop = book.write(Stopped(what="dent"), by="insp")
    book.write(Decided(stop=stop.seq, decision="rework", measure_again=("sound",)), by="qual")
    book.read("Q-3", "61.2 dB", by="insp")
    assert state(book) == "inspection"
    assert book.verdict().accepted
    book.release()
    assert state(book) == "released"


def test_a_returned_unit_goes_on_after_another_decision(book):
    book.built()
    stop = book.write(Stopped(what="dent"), by="insp")
    book.write(Decided(stop=stop.seq, decision="return_to_supplier"), by="qual")
    book.write(Decided(stop=stop.seq, decision="no_fault"), by="qual")
    assert state(book) == "inspection"


def test_one_of_two_stops_decided_leaves_it_stopped(book):
    book.built()
    first = book.write(Stopped(what="dent"), by="insp")
    book.write(Stopped(what="scratch"), by="insp")
    book.write(Decided(stop=first.seq, decision="no_fault"), by="qual")
    assert state(book) == "stopped"


def test_an_operation_that_nobody_signs_is_closed_when_every_slot_is_written(book):
    first, *rest = book.plan.operations
    unsigned = (first.model_copy(update={"sign": None}), *rest)
    book.plan = book.plan.model_validate(book.plan.model_dump() | {"operations": unsigned})
    book.issue()
    book.work("20", "30", "40")
    assert state(book) == "building"
    book.work("10")
    assert state(book) == "inspection"
    book.work("Q")
    assert book.verdict().accepted
    assert not {"SEQ001", "SEQ002"} & book.codes()


def test_a_scrapped_part_does_not_scrap_the_unit(book):
    book.built()
    stop = book.write(Stopped(what="motor hums"), "40-1")
    book.write(Decided(stop=stop.seq, decision="scrap"), "40-1", by="qual")
    assert state(book) == "inspection"


def test_a_release_taken_back_is_none(book):
    book.released()
    book.write(Struck(strikes=book.entries[-1].seq, reason="too early"), by="qual")
    assert state(book) == "inspection"


def test_a_unit_back_from_a_customer_can_be_in_stock_again(book):
    book.crated()
    book.write(Shipped(customer="Ash Weavers"), by="ship")
    book.write(Placed(place="A3"), by="pack")
    assert state(book) == "in stock"


def test_entries_may_come_in_any_order(book):
    book.crated()
    assert state_after(tuple(reversed(book.entries)), book.plan) == "crated"
    assert state_after((), book.plan) == "issued"
