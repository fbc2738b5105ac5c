"""Findings about entries, parts and identity, each raised when it should be and silent when it should be."""

from __future__ import annotations

from dataclasses import replace

import pytest

from traveler.finding import Finding, Place
from traveler.record.entry import Confirmed, Fitted, Noted, Read, Released, Signed, Stopped, Struck, Ticked
from traveler.verdict.case import LotFact
from traveler.verdict.state import SlotState

MOTOR, PLATES = "40-1", "10-2"


def for_a_slot_the_plan_does_not_have(book):
    book.issue()
    book.write(Ticked(), "10-9")


def a_tick_that_names_no_slot(book):
    book.issue()
    book.write(Ticked())


def a_tick_where_a_reading_is_asked(book):
    book.issue()
    book.write(Ticked(), "10-3/screw=1")


def a_reading_into_a_worked_out_slot(book):
    book.issue()
    book.read("20-3", "0.1 mm/m", gauge=None)


def the_issue_struck_out(book):
    issue = book.issue()
    book.write(Struck(strikes=issue.seq, reason="wrong variant"), by="qual")


def a_stop_struck_out(book):
    book.issue()
    stop = book.write(Stopped(what="crack"))
    book.write(Struck(strikes=stop.seq, reason="never mind"), by="qual")


def strikes_itself(book):
    book.issue()
    book.write(Struck(strikes=2, reason="oops"), by="qual")


def strikes_what_is_not_there(book):
    book.issue()
    book.write(Struck(strikes=99, reason="oops"), by="qual")


def a_motor_that_sits_in_another_unit(book):
    book.facts = replace(book.facts, fitted_elsewhere={("P-2007", "M-77"): "BW4-2639-0009X"})
    book.issue()
    book.write(Fitted(trace="serial", value="M-77"), MOTOR)


def plates_of_a_lot_on_hold(book):
    book.facts = replace(book.facts, lots={"L-5": LotFact("L-5", "on hold")})
    book.issue()
    book.write(Fitted(trace="lot", value="L-5"), PLATES)


def plates_of_a_lot_nobody_knows(book):
    book.facts = replace(book.facts, lots={})
    book.issue()
    book.write(Fitted(trace="lot", value="L-5"), PLATES)


def a_lot_where_a_serial_is_asked(book):
    book.issue()
    book.write(Fitted(trace="lot", value="L-5"), MOTOR)


def another_motor_than_planned(book):
    book.issue()
    book.write(Fitted(trace="serial", value="M-77", number="P-2008"), MOTOR)


def a_serial_with_a_wrong_character(book):
    book.unit = book.unit[:-2] + ("3" if book.unit[-2] != "3" else "4") + book.unit[-1]
    book.issue()


def issued_with_another_definition(book):
    book.issue(digest="1" * 64)


def the_stored_definition_was_changed(book):
    book.issue()
    book.facts = replace(book.facts, stored_digest="2" * 64)


def an_entry_of_another_unit(book):
    book.built()
    book.entries[5] = book.entries[5].model_copy(update={"unit": "BW4-2639-0009X"})


def never_issued(book):
    book.work("10")


def issued_as_another_variant(book):
    book.issue(variant="8")


def the_release_seals_something_else(book):
    book.built()
    book.write(Released(head="a" * 64, count=len(book.entries)), by="qual")


def an_entry_before_the_release_was_removed(book):
    book.released()
    del book.entries[-2]


RAISED = {
    "ENT001": [for_a_slot_the_plan_does_not_have, a_tick_that_names_no_slot],
    "ENT002": [a_tick_where_a_reading_is_asked, a_reading_into_a_worked_out_slot],
    "ENT003": [the_issue_struck_out, a_stop_struck_out],
    "ENT004": [strikes_itself, strikes_what_is_not_there],
    "PAR002": [a_motor_that_sits_in_another_unit],
    "PAR003": [plates_of_a_lot_on_hold],
    "PAR004": [plates_of_a_lot_nobody_knows],
    "PAR006": [a_lot_where_a_serial_is_asked],
    "PAR007": [another_motor_than_planned],
    "IDN001": [a_serial_with_a_wrong_character],
    "IDN003": [issued_with_another_definition, the_stored_definition_was_changed],
    "IDN004": [an_entry_of_another_unit],
    "IDN005": [never_issued],
    "IDN006": [issued_as_another_variant],
    "IDN007": [the_release_seals_something_else, an_entry_before_the_release_was_removed],
}


def good(book):
    book.facts = replace(
        book.facts,
        lots={f"LOT-{n}": LotFact(f"LOT-{n}") for n in range(40)},
        stored_digest=book.plan.digest,
        fitted_elsewhere={("P-2007", "SERIAL-99"): "BW4-2639-0009X"},
    )
    book.released()


def a_note_about_the_whole_unit(book):
    book.issue()
    book.write(Noted(text="frame from the second rack"))


def a_tick_struck_out(book):
    book.issue()
    tick = book.write(Ticked(), "10-9")
    book.write(Struck(strikes=tick.seq, reason="no such step"), by="asm")


def the_same_motor_named_for_this_very_unit(book):
    book.facts = replace(book.facts, fitted_elsewhere={("P-2007", "M-77"): book.unit})
    book.issue()
    book.write(Fitted(trace="serial", value="M-77"), MOTOR)


def lots_that_nobody_looked_up(book):
    book.issue()
    book.write(Fitted(trace="lot", value="L-5"), PLATES)


SILENT = {code: [good] for code in RAISED} | {
    "ENT001": [good, a_note_about_the_whole_unit, a_tick_struck_out],
    "ENT003": [good, a_tick_struck_out],
    "ENT004": [good, a_tick_struck_out],
    "PAR002": [good, the_same_motor_named_for_this_very_unit],
    "PAR004": [good, lots_that_nobody_looked_up],
}


@pytest.mark.parametrize(
    ("code", "write"), [(code, drawn) for code, some in RAISED.items() for drawn in some]
)
def test_it_is_raised(book, code, write):
    write(book)
    assert code in book.codes()


@pytest.mark.parametrize(
    ("code", "write"), [(code, drawn) for code, some in SILENT.items() for drawn in some]
)
def test_it_is_silent(book, code, write):
    write(book)
    assert code not in book.codes()


TWO_MOTORS = """
format: 1
product: pair
title: Pair
revision: A
revised: 2026-09-14
approved_by: rhale
track: serial
serials: {pattern: "PR{variant}-{n:04}"}
variants: {"1": {title: One}}
operations:
  - number: 10
    title: Motors
    steps:
      - fit: Motor
        number: P-1
        trace: serial
        at: {side: [left, right]}
    sign: assembler
"""


def test_one_part_serial_in_two_places_is_found(book_of):
    book = book_of(TWO_MOTORS)
    book.issue()
    book.write(Fitted(trace="serial", value="M-1"), "10-1/side=left")
    book.write(Fitted(trace="serial", value="M-1"), "10-1/side=right")
    (found,) = book.found("PAR005")
    assert found.what == "serial M-1 is fitted here and at 10-1/side=left"


def test_two_part_serials_in_two_places_are_fine(book_of):
    book = book_of(TWO_MOTORS)
    book.issue()
    book.write(Fitted(trace="serial", value="M-1"), "10-1/side=left")
    book.write(Fitted(trace="serial", value="M-2"), "10-1/side=right")
    assert "PAR005" not in book.codes()


def test_a_slot_that_does_not_exist_gets_the_nearest_one(book):
    for_a_slot_the_plan_does_not_have(book)
    assert book.found("ENT001")[0].hint.startswith("did you mean '10-")


def test_what_the_chain_check_found_is_passed_on_as_it_is(book):
    broken = Finding("CHN001", "entry #3 was altered", Place(unit=book.unit, entry=3))
    book.facts = replace(book.facts, chain=(broken,))
    found = book.built().verdict()
    assert broken in found.findings
    assert not found.accepted


def test_a_stop_that_was_struck_out_still_stops(book):
    a_stop_struck_out(book)
    assert book.verdict().state == "stopped"


def test_a_strike_that_was_struck_out_does_not_count(book):
    book.issue()
    tick = book.write(Ticked(), "10-1")
    strike = book.write(Struck(strikes=tick.seq, reason="wrong unit"), by="asm")
    assert book.verdict().slots["10-1"].state is SlotState.OPEN
    book.write(Struck(strikes=strike.seq, reason="it was this unit"), by="asm")
    assert book.verdict().slots["10-1"].state is SlotState.DONE


def test_what_a_slot_holds_is_said_in_a_word(book):
    book.built()
    slots = book.verdict().slots
    assert slots[MOTOR].value.startswith("SERIAL-")
    assert slots["10/sign"].value == "asm"
    assert slots["10-1"].value is None


def test_entries_beside_their_slot_do_not_fill_it(book):
    book.issue()
    book.write(Noted(text="loose"), "10-1")
    book.write(Read(written="1 mm", value="1", unit="mm"), "10-1")
    book.write(Signed(), "20-4")
    slots = book.verdict().slots
    assert slots["10-1"].state is SlotState.OPEN
    assert slots["20-4"].state is SlotState.OPEN


def test_a_statement_found_not_so_is_out(book):
    book.issue()
    book.write(Confirmed(yes=False), "20-4")
    assert book.verdict().slots["20-4"].state is SlotState.OUT
