"""The gate: every role × action × state, and what else it refuses."""

from __future__ import annotations

from datetime import timedelta
from itertools import product

import pytest

from traveler.finding import Weight
from traveler.record.entry import (
    Confirmed,
    Crated,
    Decided,
    Noted,
    Placed,
    Shipped,
    Signed,
    Stopped,
    Struck,
    Ticked,
)
from traveler.verdict.authority import ROLES
from traveler.verdict.gate import GATES
from traveler.verdict.state import UnitState

NEAR = "30-2/spindle=1,end=near"
BY = {"assembler": "asm2", "inspector": "insp", "quality": "qual", "packer": "pack",
      "engineering": "eng", "shipping": "ship", "director": "boss"}  # fmt: skip

ALLOWED = {
    "release": ({"quality"}, {"inspection"}),
    "crate": ({"packer", "shipping", "quality"}, {"released"}),
    "place": ({"packer", "shipping", "quality", "director"}, {"crated", "in stock"}),
    "ship": ({"shipping", "quality", "director"}, {"crated", "in stock"}),
}
"""Action → roles and states in which a good unit passes. Everything else is refused."""


def brought_to(book, state: UnitState):
    """A good unit in this state; its crate is packed as soon as it is released."""
    if state is UnitState.ISSUED:
        book.issue()
    elif state is UnitState.BUILDING:
        book.issue()
        book.work("10")
    else:
        book.built()
    if state is UnitState.STOPPED or state is UnitState.SCRAPPED:
        stop = book.write(Stopped(what="dent"), by="insp")
        if state is UnitState.SCRAPPED:
            book.write(Decided(stop=stop.seq, decision="scrap"), by="qual")
    steps = [UnitState.RELEASED, UnitState.CRATED, UnitState.IN_STOCK, UnitState.SHIPPED]
    for step in steps[: steps.index(state) + 1] if state in steps else ():
        if step is UnitState.RELEASED:
            book.release()
            book.work("C")
        elif step is UnitState.CRATED:
            book.write(Crated(), by="pack")
        elif step is UnitState.IN_STOCK:
            book.write(Placed(place="A3"), by="pack")
        else:
            book.write(Shipped(customer="Ash Weavers"), by="ship")
    return book


@pytest.mark.parametrize("state", list(UnitState))
@pytest.mark.parametrize("action", list(GATES))
def test_every_role_in_every_state_is_allowed_or_refused_as_the_table_says(book, action, state):
    case = brought_to(book, state).case()
    assert case.state is state
    roles, states = ALLOWED[action]
    for role in ROLES:
        refused = GATES[action](case, BY[role], book.clock, None)
        assert (not refused) == (role in roles and state in states), (
            role,
            [str(finding) for finding in refused],
        )
        assert ("GAT002" in {finding.code for finding in refused}) == (role not in roles)
        assert bool({"GAT001", "GAT004"} & {finding.code for finding in refused}) == (
            state not in states and not (action == "release" and state is UnitState.BUILDING)
        )


def test_the_table_covers_every_action_role_and_state():
    assert set(ALLOWED) == set(GATES)
    assert set(BY) == set(ROLES)
    assert len(list(product(GATES, ROLES, UnitState))) == 4 * 7 * 9


def codes(book, action: str, by: str) -> set[str]:
    return {finding.code for finding in GATES[action](book.case(), by, book.clock, None)}


def test_every_single_slot_left_open_holds_the_release_up(book):
    needed = [slot for slot in book.plan.slots() if not slot.id.startswith("C") and slot.kind != "worked"]
    assert len(needed) > 40
    for slot in needed:
        other = type(book)(book.plan)
        other.built(without=(slot.id,))
        refused = GATES["release"](other.case(), "qual", other.clock, None)
        assert slot.id in " ".join(f"{finding.place} {finding.what}" for finding in refused), slot.id


def test_every_single_slot_of_the_crating_left_open_holds_the_crate_up(book):
    for slot in book.plan.operations[-1].slots():
        other = type(book)(book.plan)
        other.released().work("C", without=(slot.id,))
        refused = GATES["crate"](other.case(), "pack", other.clock, None)
        assert slot.id.split("/")[0] in " ".join(f"{finding.place} {finding.what}" for finding in refused), (
            slot.id
        )


def test_what_is_wrong_with_the_crate_does_not_hold_the_release_up(book):
    book.built()
    book.write(Confirmed(yes=False), "C-5", by="pack")
    assert codes(book, "release", "qual") == set()
    book.release()
    assert "REA014" in codes(book, "crate", "pack")


def test_a_builder_cannot_release_whatever_the_shop_allows(book):
    book.settings = book.settings.model_copy(update={"authority": {"release": ("assembler",)}})
    book.built()
    assert codes(book, "release", "asm") == {"PER005"}
    assert codes(book, "release", "asm2") == set()


def test_nobody_becomes_independent_by_striking_out_their_own_signature(book):
    both = book.people.get("asm").model_copy(update={"id": "both", "roles": (
        *book.people.get("asm").roles, *book.people.get("qual").roles)})  # fmt: skip
    book.people = type(book.people)(people=(*book.people.people, both))
    book.built()
    mine = book.write(Signed(), "10/sign", by="both")
    theirs = book.write(Signed(), "10/sign", by="both")
    book.write(Struck(strikes=theirs.seq, reason="not mine"), by="qual")
    book.write(Struck(strikes=mine.seq, reason="so that I may release"), by="both")
    assert codes(book, "release", "both") == {"PER005"}


def test_somebody_whose_signature_another_struck_out_may_release(book):
    both = book.people.get("asm").model_copy(update={"id": "both", "roles": (
        *book.people.get("asm").roles, *book.people.get("qual").roles)})  # fmt: skip
    book.people = type(book.people)(people=(*book.people.people, both))
    book.built()
    mistaken = book.write(Signed(), "10/sign", by="both")
    book.write(Struck(strikes=mistaken.seq, reason="keyed under the wrong id"), by="qual")
    assert codes(book, "release", "both") == set()


def test_somebody_unknown_or_gone_cannot_release(book):
    book.built()
    assert codes(book, "release", "nobody") == {"PER001"}
    assert codes(book, "release", "gone") == {"PER003"}


def test_a_reading_out_holds_the_release_up_until_it_is_read_again(book):
    book.built().read(NEAR, "0.06 mm")
    assert "REA001" in codes(book, "release", "qual")
    book.read(NEAR, "0.03 mm")
    assert codes(book, "release", "qual") == set()


def test_a_concession_lets_a_reading_out_pass(book):
    book.built()
    book.read("30-2/spindle=1,end=far", "0.05 mm")
    book.read(NEAR, "0.06 mm")
    stop = book.write(Stopped(what="run-out over"), NEAR)
    assert codes(book, "release", "qual") == {"REA001", "NON001"}
    book.write(Decided(stop=stop.seq, decision="use_as_is", concession="C-12"), NEAR, by="qual")
    assert codes(book, "release", "qual") == set()


def test_lowering_the_weight_of_missing_slots_does_not_open_the_gate(book):
    lower = dict.fromkeys(("MIS001", "MIS002", "MIS003", "MIS004", "SEQ001", "PAC001"), Weight.NOTE)
    book.settings = book.settings.model_copy(update={"weights": lower})
    book.built(without=("20-4",))
    assert codes(book, "release", "qual") == {"MIS002"}


def test_a_warning_does_not_hold_the_release_up_unless_the_shop_says_so(book):
    book.built().read(NEAR, "0.0312 mm")
    assert codes(book, "release", "qual") == set()
    book.settings = book.settings.model_copy(update={"weights": {"REA007": Weight.BLOCKING}})
    assert codes(book, "release", "qual") == {"REA007"}


def test_a_stop_after_the_release_holds_the_crate_up(book):
    book.released().work("C")
    book.write(Stopped(what="dent"), NEAR, by="pack")
    assert codes(book, "crate", "pack") == {"NON001"}


def test_a_release_is_dated_neither_in_the_future_nor_before_the_work(book):
    case = book.built().case()
    release = GATES["release"]
    assert {finding.code for finding in release(case, "qual", book.now + timedelta(hours=1), None)} == {
        "SEQ005"
    }
    assert {finding.code for finding in release(case, "qual", book.clock - timedelta(hours=1), None)} == {
        "SEQ010"
    }


def test_a_role_must_be_held_today_too_and_not_only_on_the_day_told(book):
    book.built()
    before = [person.model_copy(update={"left": book.clock.date()}) if person.id == "qual" else person
              for person in book.people.people]  # fmt: skip
    book.people = type(book.people)(people=tuple(before))
    assert codes(book, "release", "qual") == {"PER003"}


def test_a_second_release_is_refused_and_says_so(book):
    book.released()
    (found,) = GATES["release"](book.case(), "qual", book.clock, None)
    assert found.what == "already released: state is 'released'"


def test_a_stopped_unit_says_what_to_do(book):
    brought_to(book, UnitState.STOPPED)
    found = [
        finding
        for finding in GATES["release"](book.case(), "qual", book.clock, None)
        if finding.code == "GAT001"
    ]
    assert found[0].what == "not released: state is 'stopped', it must be 'building' or 'inspection'"
    assert found[0].hint == "decide on what stopped it"


def test_the_wood_mark_is_asked_for_even_where_the_plan_forgets_it(book):
    operations = [operation.model_dump() for operation in book.plan.operations]
    operations[-1]["steps"] = [step for step in operations[-1]["steps"] if step["check"] != "wood-mark"]
    book.plan = book.plan.model_validate(book.plan.model_dump() | {"operations": operations})
    book.released().work("C")
    (found,) = GATES["crate"](book.case(), "pack", book.clock, None)
    assert found.code == "PAC003", "the verdict and the gate say it in the same words, once"
    book.write(Noted(text="wood mark on all battens"), by="pack")
    assert codes(book, "crate", "pack") == set()


PLAIN = """
format: 1
product: plain
title: Plain
revision: A
revised: 2026-09-14
approved_by: rhale
track: serial
serials: {pattern: "PN{variant}-{n:04}"}
variants: {"1": {title: One}}
operations:
  - number: 10
    title: All
    steps:
      - do: Make it.
    sign: assembler
"""


def test_what_is_never_crated_goes_from_release_to_stock_or_customer(book_of):
    book = book_of(PLAIN)
    book.issue()
    book.work("10")
    assert codes(book, "place", "pack") == {"GAT001"}
    book.release()
    assert codes(book, "place", "pack") == set()
    assert codes(book, "ship", "ship") == set()
    book.write(Placed(place="A1"), by="pack")
    assert codes(book, "ship", "ship") == set()


def test_the_gate_lists_everything_at_once_in_one_order(book):
    book.issue()
    book.write(Ticked(), "10-1", by="nobody")
    book.write(Signed(), "20/sign")
    refused = GATES["release"](book.case(), "pack", book.clock, None)
    found = [finding.code for finding in refused]
    assert {"GAT002", "PER001", "SEQ001", "SEQ002", "MIS002"} <= set(found)
    assert refused == GATES["release"](book.case(), "pack", book.clock, None)
    assert len(found) == len(set(map(str, refused)))
