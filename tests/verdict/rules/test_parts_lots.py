"""Findings about lots, each raised when it should be and silent when it should be."""

from __future__ import annotations

import pytest

from traveler.record.entry import Counted, Struck, Witnessed

LOT = """
format: 1
product: plate
title: Plate
revision: A
revised: 2026-09-14
approved_by: rhale
track: lot
serials: {pattern: "PL{variant}-{n:04}"}
variants: {"1": {title: One}}
gauges:
  indicator: {title: Dial indicator, resolution: 0.001 mm}
operations:
  - number: 10
    title: Cut
    steps:
      - fit: Steel
        number: M-1
        trace: lot
      - measure: Length of the first piece
        id: first
        first_piece: true
        limits: 40 ± 0.2 mm
        gauge: indicator
      - witness: First piece approved.
        by: inspector
      - measure: Length in the run
        id: run
        limits: 40 ± 0.2 mm
        gauge: indicator
      - count: Blanks
    sign: assembler
  - number: 20
    title: Bend
    steps:
      - measure: Angle gap of the first piece
        id: bend
        first_piece: true
        limits: max 0.05 mm
        gauge: indicator
      - witness: First piece approved.
        by: inspector
      - count: Bent
    sign: assembler
"""


@pytest.fixture
def lot(book_of):
    book = book_of(LOT)
    book.issue(quantity=20)
    return book


def write(book, *counts):
    """Both operations done, with these counts; the second may be left out."""
    for number, count in zip(("10", "20"), counts, strict=False):
        slot = {"10": "10-5", "20": "20-3"}[number]
        book.work(number, without=(slot, f"{number}/sign"))
        book.write(Counted(**count), slot)


def two_pieces_too_few(book):
    write(book, {"good": 18})


def three_pieces_appear_in_the_second(book):
    write(book, {"good": 18, "scrap": 2}, {"good": 21})


def one_vanishes_in_the_second(book):
    write(book, {"good": 18, "scrap": 2}, {"good": 17})


def run_before_the_first_piece_was_measured(book):
    book.read("10-4", "40.05 mm")


def run_before_the_first_piece_was_approved(book):
    book.read("10-2", "40.05 mm")
    book.read("10-4", "40.05 mm")


def approved_only_after_the_run_began(book):
    run_before_the_first_piece_was_approved(book)
    book.write(Witnessed(), "10-3", by="insp")


def run_though_the_first_piece_is_out(book):
    book.read("20-1", "0.06 mm")
    book.write(Witnessed(), "20-2", by="insp")
    book.write(Counted(good=20), "20-3")


def two_left_in_rework(book):
    write(book, {"good": 18, "rework": 2}, {"good": 18, "rework": 2})


def no_quantity_at_the_issue(book):
    book.entries.clear()
    book.issue()
    write(book, {"good": 18})


RAISED = {
    "LOT001": [two_pieces_too_few, three_pieces_appear_in_the_second, one_vanishes_in_the_second],
    "LOT002": [
        run_before_the_first_piece_was_measured, run_before_the_first_piece_was_approved,
        approved_only_after_the_run_began, run_though_the_first_piece_is_out,
    ],
    "LOT003": [two_left_in_rework],
    "LOT004": [no_quantity_at_the_issue],
}  # fmt: skip


def everything_adds_up(book):
    write(book, {"good": 17, "rework": 1, "scrap": 2}, {"good": 18})


def counted_again_rightly(book):
    two_pieces_too_few(book)
    book.write(Counted(good=20), "10-5")


def wrong_count_struck_out(book):
    write(book, {"good": 20})
    wrong = book.write(Counted(good=19), "10-5")
    book.write(Struck(strikes=wrong.seq, reason="miscounted"), by="asm")


def rework_of_the_first_is_good_after_the_second(book):
    write(book, {"good": 15, "rework": 5}, {"good": 20})


def nothing_counted_yet(book):
    book.work("10", without=("10-5", "10/sign"))


SILENT = {
    "LOT001": [everything_adds_up, counted_again_rightly, wrong_count_struck_out, nothing_counted_yet],
    "LOT002": [everything_adds_up, nothing_counted_yet],
    "LOT003": [everything_adds_up, rework_of_the_first_is_good_after_the_second],
    "LOT004": [everything_adds_up, nothing_counted_yet],
}


@pytest.mark.parametrize(
    ("code", "write_it"), [(code, drawn) for code, some in RAISED.items() for drawn in some]
)
def test_it_is_raised(lot, code, write_it):
    write_it(lot)
    assert code in lot.codes()


@pytest.mark.parametrize(
    ("code", "write_it"), [(code, drawn) for code, some in SILENT.items() for drawn in some]
)
def test_it_is_silent(lot, code, write_it):
    write_it(lot)
    assert code not in lot.codes()


def test_quantities_that_do_not_add_up_are_written_out(lot):
    one_vanishes_in_the_second(lot)
    (found,) = lot.found("LOT001")
    assert found.what == "operation 20: 17 good, 0 rework, 0 scrap are 17; 18 came from operation 10"


def test_a_run_before_the_approval_is_said_once(lot):
    """The hold point that approves the first piece is not told a second time as work past a hold point."""
    run_before_the_first_piece_was_approved(lot)
    assert "SEQ003" not in lot.codes()
    (found,) = lot.found("LOT002")
    assert found.what.endswith("the first piece is not approved (10-3)")


def test_a_whole_good_lot_raises_nothing(lot):
    lot.work("10", "20")
    assert lot.verdict().findings == ()
    assert lot.verdict().accepted
