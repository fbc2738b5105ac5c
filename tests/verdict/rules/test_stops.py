"""Findings about stops and decisions, each raised when it should be and silent when it should be."""

from __future__ import annotations

from datetime import timedelta

import pytest

from traveler.finding import Weight
from traveler.record.entry import Decided, Fitted, Stopped, Struck
from traveler.verdict.state import UnitState

NEAR, MOTOR = "30-2/spindle=1,end=near", "40-1"


def stop(book, slot=None, what="run-out over"):
    return book.write(Stopped(what=what), slot).seq


def decide(book, seq, decision, slot=None, **rest):
    return book.write(Decided(stop=seq, decision=decision, **rest), slot, by="qual")


def stopped(book):
    book.built()
    stop(book)


def as_is_without_a_concession(book):
    book.built()
    decide(book, stop(book, NEAR), "use_as_is")


def as_is_with_a_blank_concession(book):
    book.built()
    decide(book, stop(book, NEAR), "use_as_is", concession="  ")


def reworked_and_not_measured(book):
    book.built()
    decide(book, stop(book, NEAR), "rework")


def reworked_as_a_whole_and_nothing_measured(book):
    book.built()
    decide(book, stop(book), "repair")


def only_one_of_two_named_slots_measured(book):
    book.built()
    decide(book, stop(book), "rework", measure_again=(NEAR, "30-4/spindle=1"))
    book.read(NEAR, "0.03 mm")


def only_one_position_of_a_named_check_measured(book):
    book.built()
    decide(book, stop(book), "rework", measure_again=("runout",))
    book.read(NEAR, "0.03 mm")


def a_check_to_be_measured_that_does_not_exist(book):
    book.built()
    decide(book, stop(book), "rework", measure_again=("run-out",))


def reworked_and_only_something_else_measured(book):
    book.built()
    decide(book, stop(book, NEAR), "rework", measure_again=("30-4/spindle=1",))
    book.read("30-4/spindle=1", "42.00 mm")


def decided_on_a_reading(book):
    book.built()
    decide(book, 5, "rework")


def decided_before_the_stop(book):
    book.built()
    decide(book, len(book.entries) + 2, "no_fault")
    stop(book)


def scrapped(book):
    book.built()
    decide(book, stop(book), "scrap")


def motor_scrapped(book):
    book.built()
    decide(book, stop(book, MOTOR), "scrap")


def as_is_under_a_concession(book):
    book.built().read(NEAR, "0.06 mm")
    decide(book, stop(book, NEAR), "use_as_is", concession="C-12")


def motor_returned(book):
    book.built()
    decide(book, stop(book, MOTOR), "return_to_supplier")


def unit_returned(book):
    book.built()
    decide(book, stop(book), "return_to_supplier")


def built_on_while_stopped(book):
    book.built()
    stop(book)
    book.clock += timedelta(minutes=20)
    book.write(Fitted(trace="serial", value="M-78"), MOTOR)


def built_on_before_the_decision(book):
    built_on_while_stopped(book)
    book.clock += timedelta(minutes=20)
    decide(
        book, 1 + next(n for n, entry in enumerate(book.entries) if entry.body.kind == "stopped"), "no_fault"
    )


RAISED = {
    "NON001": [stopped, decided_before_the_stop],
    "NON002": [as_is_without_a_concession, as_is_with_a_blank_concession],
    "NON003": [
        reworked_and_not_measured, reworked_as_a_whole_and_nothing_measured,
        only_one_of_two_named_slots_measured, only_one_position_of_a_named_check_measured,
        a_check_to_be_measured_that_does_not_exist,
        reworked_and_only_something_else_measured,
    ],
    "NON004": [decided_on_a_reading, decided_before_the_stop],
    "NON005": [scrapped, motor_scrapped],
    "NON006": [as_is_under_a_concession],
    "NON007": [motor_returned, unit_returned],
    "NON008": [built_on_while_stopped, built_on_before_the_decision],
}  # fmt: skip


def good(book):
    book.built()


def no_fault_found(book):
    book.built()
    decide(book, stop(book), "no_fault")


def as_is_under_a_concession_given_later(book):
    book.built()
    seq = stop(book, NEAR)
    decide(book, seq, "use_as_is")
    decide(book, seq, "use_as_is", concession="C-12")


def reworked_and_measured(book):
    reworked_and_not_measured(book)
    book.read(NEAR, "0.03 mm")


def reworked_as_a_whole_and_something_measured(book):
    reworked_as_a_whole_and_nothing_measured(book)
    book.read(NEAR, "0.03 mm")


def every_position_of_a_named_check_measured(book):
    book.built()
    decide(book, stop(book), "rework", measure_again=("runout",))
    for number, slot in enumerate(book.plan.check("runout").slots):
        book.fill(slot, "asm", number)
    for number, slot in enumerate(book.plan.step_of["Q-2/spindle=1,end=near"].slots):
        book.fill(slot, "insp", number)


def motor_reworked_and_the_speed_measured(book):
    book.built()
    decide(book, stop(book, MOTOR), "rework", measure_again=("speed",))
    book.read("40-7", "1203 1/min")


def motor_replaced(book):
    motor_scrapped(book)
    book.write(Fitted(trace="serial", value="M-78"), MOTOR)


def returned_motor_replaced(book):
    motor_returned(book)
    book.write(Fitted(trace="serial", value="M-78"), MOTOR)


def only_looked_at_while_stopped(book):
    book.built()
    stop(book)
    book.clock += timedelta(minutes=20)
    book.read(NEAR, "0.03 mm")


def built_on_after_the_decision(book):
    book.built()
    decide(book, stop(book), "rework", measure_again=(NEAR,))
    book.clock += timedelta(minutes=20)
    book.write(Fitted(trace="serial", value="M-78"), MOTOR)


def built_on_beside_a_stopped_slot(book):
    book.built()
    stop(book, NEAR)
    book.clock += timedelta(minutes=20)
    book.write(Fitted(trace="serial", value="M-78"), MOTOR)


def within_the_difference_of_two_clocks(book):
    book.built()
    stop(book)
    book.write(Fitted(trace="serial", value="M-78"), MOTOR)


SILENT = {
    "NON008": [
        good, only_looked_at_while_stopped, built_on_after_the_decision, built_on_beside_a_stopped_slot,
        within_the_difference_of_two_clocks,
    ],
    "NON001": [good, no_fault_found, scrapped],
    "NON002": [as_is_under_a_concession, as_is_under_a_concession_given_later],
    "NON003": [
        good, reworked_and_measured, reworked_as_a_whole_and_something_measured,
        every_position_of_a_named_check_measured,
        motor_reworked_and_the_speed_measured,
    ],
    "NON004": [no_fault_found],
    "NON005": [good, motor_replaced],
    "NON006": [good, as_is_without_a_concession],
    "NON007": [good, returned_motor_replaced],
}  # fmt: skip


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


def test_an_open_stop_says_who_stopped_and_why(book):
    stopped(book)
    (found,) = book.found("NON001")
    assert found.what == "stopped by asm: run-out over"
    assert found.weight is Weight.BLOCKING


def test_striking_a_decision_out_opens_the_stop_again(book):
    book.built()
    entry = decide(book, stop(book), "no_fault")
    assert book.verdict().state is UnitState.INSPECTION
    book.write(Struck(strikes=entry.seq, reason="another unit"), by="qual")
    assert book.verdict().state is UnitState.STOPPED
    assert "NON001" in book.codes()


def test_rework_dated_before_the_decision_shows_nothing(book):
    book.built()
    early = book.clock
    decide(book, stop(book, NEAR), "rework")
    book.read(NEAR, "0.03 mm", at=early, recorded=book.clock)
    assert "NON003" in book.codes()


def test_a_stopped_slot_does_not_stop_the_whole_unit(book):
    book.built()
    stop(book, NEAR)
    assert book.verdict().state is UnitState.INSPECTION
    assert not book.verdict().accepted
