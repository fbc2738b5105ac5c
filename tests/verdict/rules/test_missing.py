"""Findings about what is not there, each raised when it should be and silent when it should be."""

from __future__ import annotations

import pytest

from traveler.finding import Weight
from traveler.record.entry import Crated, Signed


def begun(book):
    book.issue()
    book.work("10", without=("10/sign", "10-3/screw=2", "10-3/screw=7"))


def signed_over_it(book):
    book.issue()
    book.work("10", without=("10-3/screw=2",))


def a_later_operation_is_signed(book):
    book.issue()
    book.work("10", "20", without=("10-3/screw=2", "10/sign"))


def released_with_an_open_confirmation(book):
    book.built(without=("Q-4",)).release()


def just_issued(book):
    book.issue()


def lot_of_the_end_plates_missing(book):
    book.issue()
    book.work("10", without=("10-2",))


def hex_keys_not_ticked(book):
    book.released().work("C", without=("C-3/item=3",))


def no_photo_of_the_open_crate(book):
    book.released().work("C", without=("C-4",))


def nobody_looked_at_the_wood_mark(book):
    book.released().work("C", without=("C-5",))


def crated_with_everything_open(book):
    book.released().write(Crated(), by="pack")


RAISED = {
    "MIS001": [begun],
    "MIS002": [signed_over_it, a_later_operation_is_signed, released_with_an_open_confirmation],
    "MIS003": [just_issued],
    "MIS004": [begun],
    "PAR001": [lot_of_the_end_plates_missing],
    "PAC001": [hex_keys_not_ticked, crated_with_everything_open],
    "PAC003": [nobody_looked_at_the_wood_mark, crated_with_everything_open],
    "PAC004": [no_photo_of_the_open_crate, crated_with_everything_open],
}


def complete(book):
    book.crated()


SILENT = {
    "MIS001": [complete, just_issued, signed_over_it],
    "MIS002": [complete, begun, just_issued],
    "MIS003": [complete],
    "MIS004": [complete],
    "PAR001": [complete, begun],
    "PAC001": [complete, just_issued],
    "PAC003": [complete, just_issued],
    "PAC004": [complete, just_issued],
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


def test_open_slots_of_a_step_are_one_finding(book):
    begun(book)
    (found,) = book.found("MIS001")
    assert found.what == "open: 10-3 (screw=2; screw=7) Rail screw torque"
    assert found.weight is Weight.NOTE


def test_an_operation_that_is_not_begun_is_one_finding(book):
    just_issued(book)
    texts = [item.what for item in book.found("MIS003")]
    assert texts[0] == "operation 10 Frame is not begun: 13 slots open"
    assert len(texts) == len(book.plan.operations)


def test_a_unit_in_the_making_has_no_trouble_but_is_not_accepted(book):
    begun(book)
    found = book.verdict()
    assert {finding.weight for finding in found.findings} == {Weight.NOTE}
    assert not found.complete
    assert not found.accepted


def test_a_complete_unit_is_accepted_though_its_crate_is_not_packed(book):
    found = book.built().verdict()
    assert found.complete
    assert found.accepted


def test_all_positions_of_a_step_are_counted_and_not_listed(book):
    book.issue()
    book.work("10", without=tuple(f"10-3/screw={n}" for n in range(1, 9)))
    assert book.found("MIS002")[0].what == "open: 10-3 (all 8 positions) Rail screw torque"


def test_a_good_unit_raises_nothing_at_all_from_issue_to_crate(book):
    assert book.crated().verdict().findings == ()


def test_the_variant_with_eight_spindles_is_good_too(winder_of, book):
    big = type(book)(winder_of("8"))
    assert big.crated().verdict().findings == ()


def test_a_signature_alone_does_not_make_a_unit_complete(book):
    book.issue()
    for slot in ("10/sign", "20/sign", "30/sign", "40/sign"):
        book.write(Signed(), slot)
    assert not book.verdict().complete
