"""Findings about order and time, each raised when it should be and silent when it should be."""

from __future__ import annotations

from datetime import timedelta

import pytest

from traveler.record.entry import (
    Confirmed,
    Crated,
    Noted,
    Photographed,
    Placed,
    Shipped,
    Signed,
    Struck,
    Ticked,
    Witnessed,
)

HOLD = "40-6"
HOUR = timedelta(hours=1)


def signed_over_an_open_step(book):
    book.issue()
    book.work("10", without=("10-3/screw=5",))


def filled_only_after_the_signature(book):
    book.issue()
    book.work("10", without=("10-3/screw=5",))
    book.read("10-3/screw=5", "24.0 N·m")


def struck_out_and_written_again_after_the_signature(book):
    book.issue()
    book.work("10")
    tick = next(entry for entry in book.entries if entry.slot == "10-1")
    book.write(Struck(strikes=tick.seq, reason="was not tight"), by="asm")
    book.write(Ticked(), "10-1")


def an_operation_left_out(book):
    book.issue()
    book.work("10", "30")


def signed_before_the_one_before(book):
    book.issue()
    book.work("20")
    book.work("10")


def speed_measured_before_the_guards_were_witnessed(book):
    book.built(without=(HOLD, "40/sign", "Q/sign"))


def witnessed_only_later(book):
    book.built(without=(HOLD,))
    book.write(Witnessed(), HOLD, by="insp")


def dated_an_hour_before_the_issue(book):
    issue = book.issue()
    book.write(Ticked(), "10-1", at=issue.at - HOUR)


def dated_ten_minutes_after_it_was_recorded(book):
    book.issue()
    at = book.clock + timedelta(minutes=10)
    book.write(Ticked(), "10-1", at=at, recorded=book.clock)


def dated_tomorrow(book):
    book.issue()
    book.write(Ticked(), "10-1", at=book.now + timedelta(days=1))


def the_second_entry_is_dated_before_the_first(book):
    book.issue()
    book.write(Confirmed(), "20-4")
    book.write(Confirmed(), "20-4", at=book.clock - HOUR / 2, recorded=book.clock)


def recorded_two_days_late(book):
    book.issue()
    book.write(Ticked(), "10-1", recorded=book.clock + timedelta(days=2))


def packed_before_the_release(book):
    book.built()
    book.write(Ticked(), "C-1", by="pack")


def packed_an_hour_before_the_release_as_told(book):
    book.released()
    book.write(Ticked(), "C-1", by="pack", at=book.clock - HOUR)


def read_after_the_release(book):
    book.released()
    book.read("30-2/spindle=1,end=near", "0.03 mm")


def crated_without_release(book):
    book.built()
    book.write(Crated(), by="pack")


def shipped_without_release(book):
    book.issue()
    book.write(Shipped(customer="Ash Weavers"), by="ship")


RAISED = {
    "SEQ001": [
        signed_over_an_open_step, filled_only_after_the_signature,
        struck_out_and_written_again_after_the_signature,
    ],
    "SEQ002": [an_operation_left_out, signed_before_the_one_before],
    "SEQ003": [speed_measured_before_the_guards_were_witnessed, witnessed_only_later],
    "SEQ004": [dated_an_hour_before_the_issue],
    "SEQ005": [dated_ten_minutes_after_it_was_recorded, dated_tomorrow],
    "SEQ006": [the_second_entry_is_dated_before_the_first],
    "SEQ007": [recorded_two_days_late],
    "SEQ008": [packed_before_the_release, packed_an_hour_before_the_release_as_told],
    "SEQ009": [read_after_the_release],
    "SEQ010": [crated_without_release, shipped_without_release],
}  # fmt: skip


def good(book):
    book.crated()
    book.write(Placed(place="A3"), by="pack")
    book.write(Shipped(customer="Ash Weavers"), by="ship")


def signed_again_once_complete(book):
    filled_only_after_the_signature(book)
    book.write(Signed(), "10/sign")


def everything_told_for_the_same_moment(book):
    """A paper sheet keyed in: every entry carries the time that stands on the sheet."""
    book.issue()
    book.clock += timedelta(hours=2)
    moment, write = book.clock, book.write
    book.write = lambda *some, **rest: write(*some, **({"at": moment, "recorded": moment} | rest))
    book.work("10", "20", "30", "40", "Q")


def signed_again_out_of_order_after_a_first_time_in_order(book):
    book.issue()
    book.work("10", "20")
    book.write(Signed(), "10/sign")


def only_begun_in_another_order(book):
    book.issue()
    book.work("20", without=("20/sign",))


def four_minutes_by_another_clock(book):
    issue = book.issue()
    book.write(Ticked(), "10-1", at=issue.at - timedelta(minutes=4))
    at = book.clock + timedelta(minutes=4)
    book.write(Ticked(), "10-1", at=at, recorded=book.clock)


def recorded_the_same_day(book):
    book.issue()
    book.write(Ticked(), "10-1", recorded=book.clock + timedelta(hours=23))


def noted_after_the_release(book):
    book.released()
    book.write(Noted(text="customer called"), by="boss")
    book.write(Photographed(name="front.jpg"), "30-2/spindle=1,end=near", by="insp")


def taken_back_and_released_again(book):
    book.released()
    book.write(Struck(strikes=book.entries[-1].seq, reason="too early"), by="qual")
    book.read("30-2/spindle=1,end=near", "0.03 mm")
    book.release()


SILENT = {
    "SEQ001": [good, signed_again_once_complete, everything_told_for_the_same_moment],
    "SEQ002": [
        good, everything_told_for_the_same_moment, signed_again_out_of_order_after_a_first_time_in_order,
        only_begun_in_another_order,
    ],
    "SEQ003": [good, everything_told_for_the_same_moment],
    "SEQ004": [good, four_minutes_by_another_clock],
    "SEQ005": [good, four_minutes_by_another_clock],
    "SEQ006": [good, signed_again_once_complete],
    "SEQ007": [good, recorded_the_same_day],
    "SEQ008": [good],
    "SEQ009": [good, noted_after_the_release, taken_back_and_released_again],
    "SEQ010": [good],
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


def test_a_signature_over_open_slots_names_them(book):
    signed_over_an_open_step(book)
    (found,) = book.found("SEQ001")
    assert found.what == "operation 10 was signed by asm while 10-3 (screw=5) was open"


def test_an_operation_left_out_is_named(book):
    an_operation_left_out(book)
    assert [item.what for item in book.found("SEQ002")] == [
        "operation 30 is signed, operation 20 before it is not"
    ]


def test_work_past_a_hold_point_names_the_first_of_it(book):
    speed_measured_before_the_guards_were_witnessed(book)
    (found,) = book.found("SEQ003")
    assert "is not witnessed, but 40-7 (#" in found.what
    assert "and 5 more lies past it" in found.what


def test_everything_recorded_late_is_one_finding(book):
    book.issue()
    for slot in ("10-1", "20-1", "20-4"):
        book.write(Ticked(), slot, recorded=book.clock + timedelta(days=2))
    (found,) = book.found("SEQ007")
    assert found.what == "3 entries were recorded more than 24 h after the work, the first is #2"
