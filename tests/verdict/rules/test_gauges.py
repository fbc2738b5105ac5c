"""Findings about gauges, each raised when it should be and silent when it should be."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from traveler.record.entry import Read
from traveler.shop.gauges import Calibration, Withdrawal
from traveler.verdict.state import SlotState

NEAR = "30-2/spindle=1,end=near"


def no_gauge_named(book):
    book.built().read(NEAR, "0.03 mm", gauge=None)


def a_gauge_nobody_knows(book):
    book.built().read(NEAR, "0.03 mm", gauge="IND-07")


def a_height_gauge_instead_of_an_indicator(book):
    book.built().read(NEAR, "0.03 mm", gauge="HGT-01")


def a_day_past_due(book):
    change(book, "IND-01", calibrations=(Calibration(on=day(book, -366)),))
    book.built()


def withdrawn_on_that_very_day(book):
    change(book, "IND-01", withdrawn=day(book))
    book.built()


def withdrawn_a_minute_before_it_was_read_with(book):
    out(book, read_with_an_indicator(book)[-1], -1)


def withdrawn_and_back_only_afterwards(book):
    out(book, read_with_an_indicator(book)[-1], -60, 1)


def withdrawn_by_the_clock_of_another_zone(book):
    at = read_with_an_indicator(book)[-1] - timedelta(minutes=1)
    tokyo = at.astimezone(timezone(timedelta(hours=9)))
    change(book, "IND-01", withdrawals=(Withdrawal(out=tokyo, reason="dropped", by="qual"),))


def an_uncertainty_of_a_sixth_of_the_tolerance(book):
    change(book, "IND-01", uncertainty="0.008 mm")
    book.built()


def never_calibrated(book):
    change(book, "IND-01", calibrations=())
    book.built()


def failed_its_last_calibration(book):
    bad = Calibration(on=day(book, -10), good=False)
    change(book, "IND-01", calibrations=(Calibration(on=day(book, -100)), bad))
    book.built()


def calibrated_only_after_the_reading(book):
    change(book, "IND-01", calibrations=(Calibration(on=day(book, 1)),))
    book.built()


def further_below_zero_than_the_dial_travels(book):
    change(book, "HGT-01", range="0 to 0.02 mm")
    book.built().read("20-2/foot=B", "-0.05 mm")


def a_torque_beyond_the_range_of_the_wrench(book):
    change(book, "TRQ-01", range="5 to 24 N·m")
    book.built().read("10-3/screw=1", "25.0 N·m")


RAISED = {
    "GAU001": [no_gauge_named],
    "GAU002": [a_gauge_nobody_knows],
    "GAU003": [a_height_gauge_instead_of_an_indicator],
    "GAU004": [a_day_past_due],
    "GAU005": [
        withdrawn_on_that_very_day,
        withdrawn_a_minute_before_it_was_read_with,
        withdrawn_and_back_only_afterwards,
        withdrawn_by_the_clock_of_another_zone,
    ],
    "GAU006": [an_uncertainty_of_a_sixth_of_the_tolerance],
    "GAU007": [never_calibrated, failed_its_last_calibration, calibrated_only_after_the_reading],
    "GAU008": [a_torque_beyond_the_range_of_the_wrench, further_below_zero_than_the_dial_travels],
}


def good(book):
    book.built()


def on_the_last_day_it_is_due(book):
    change(book, "IND-01", calibrations=(Calibration(on=day(book, -365)),))
    book.built()


def withdrawn_the_day_after(book):
    change(book, "IND-01", withdrawn=day(book, 1))
    book.built()


def withdrawn_a_minute_after_it_was_read_with(book):
    out(book, read_with_an_indicator(book)[-1], 1)


def withdrawn_and_back_when_it_was_read_with_first(book):
    out(book, read_with_an_indicator(book)[0], -60, 0)


def an_uncertainty_of_exactly_a_quarter(book):
    change(book, "IND-01", uncertainty="0.00625 mm")
    book.built()


def good_again_after_a_failed_calibration(book):
    calibrations = (Calibration(on=day(book, -100), good=False), Calibration(on=day(book, -10)))
    change(book, "IND-01", calibrations=calibrations)
    book.built()


def at_the_end_of_its_range(book):
    change(book, "TRQ-01", range="5 to 25 N·m")
    book.built().read("10-3/screw=1", "25.0 N·m")


def a_bad_gauge_in_a_reading_that_was_read_again(book):
    book.built()
    book.read(NEAR, "0.03 mm", gauge="IND-07")
    book.read(NEAR, "0.03 mm")


def below_zero_on_a_dial_that_was_set_to_zero(book):
    change(book, "HGT-01", range="0 to 300 mm")
    book.built().read("20-2/foot=B", "-0.05 mm")


def a_range_in_words(book):
    change(book, "TRQ-01", range="small")
    book.built()


SILENT = {
    "GAU001": [good],
    "GAU002": [a_bad_gauge_in_a_reading_that_was_read_again],
    "GAU003": [good],
    "GAU004": [on_the_last_day_it_is_due],
    "GAU005": [
        withdrawn_the_day_after,
        withdrawn_a_minute_after_it_was_read_with,
        withdrawn_and_back_when_it_was_read_with_first,
    ],
    "GAU006": [an_uncertainty_of_exactly_a_quarter],
    "GAU007": [good_again_after_a_failed_calibration],
    "GAU008": [at_the_end_of_its_range, below_zero_on_a_dial_that_was_set_to_zero, a_range_in_words],
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


def read_with_an_indicator(book) -> list[datetime]:
    """A good unit; when the readings with its indicator were made."""
    book.built()
    return [
        entry.at for entry in book.entries if isinstance(entry.body, Read) and entry.body.gauge == "IND-01"
    ]


def out(book, at: datetime, since: int, until: int | None = None) -> None:
    """The indicator is out of use between these minutes around a reading; times as on the shop's wall."""
    wall = at.astimezone(book.case().zone).replace(tzinfo=None)
    back = None if until is None else wall + timedelta(minutes=until)
    change(book, "IND-01", withdrawals=(Withdrawal(out=wall + timedelta(minutes=since), back=back),))


def test_readings_before_a_withdrawal_stand_and_those_after_it_are_refused(book):
    book.settings = book.settings.model_copy(update={"time_zone": "America/New_York"})
    book.built()
    first = next(
        entry for entry in book.entries if isinstance(entry.body, Read) and entry.body.gauge == "IND-01"
    )
    out(book, first.at, 1)
    after = {
        entry.slot for entry in book.entries
        if isinstance(entry.body, Read) and entry.body.gauge == "IND-01" and entry.at > first.at
    }  # fmt: skip
    slots = book.verdict().slots
    assert slots[first.slot].state is SlotState.IN
    assert after
    assert {slots[slot].state for slot in after} == {SlotState.REFUSED}
    (found,) = book.found("GAU005")
    assert "was withdrawn on" in found.what
    assert " at " in found.what


@pytest.mark.parametrize(("hour", "fold"), [(1, 0), (1, 1)])
def test_an_hour_that_the_clocks_repeat_counts_as_out_of_use(hour, fold):
    dublin = ZoneInfo("Europe/Dublin")  # on 25 October 2026 the hour from one to two comes twice
    there = Withdrawal(out=datetime(2026, 10, 25, 1, 30), back=datetime(2026, 10, 25, 1, 45))  # noqa: DTZ001
    assert there.holds(datetime(2026, 10, 25, hour, 40, tzinfo=dublin, fold=fold), dublin)
    assert not there.holds(datetime(2026, 10, 25, 1, 50, tzinfo=dublin, fold=1), dublin)


def test_an_overdue_gauge_is_one_finding_however_often_it_was_used(book):
    a_day_past_due(book)
    (found,) = book.found("GAU004")
    assert found.what.startswith("IND-01 was good through 2026-09-20, used on 2026-09-21 (at 30-2 (")
    assert "and" in found.what
    assert "Q-2 (spindle=1,end=near; spindle=1,end=far)" in found.what


def test_a_slot_read_with_a_gauge_that_does_not_count_is_refused_and_so_is_what_is_worked_out_of_it(book):
    a_gauge_nobody_knows(book)
    slots = book.verdict().slots
    assert slots[NEAR].state is SlotState.REFUSED
    assert slots["30-3/spindle=1"].state is SlotState.REFUSED
    assert slots["30-2/spindle=2,end=near"].state is SlotState.IN


def test_a_reading_out_stays_out_whatever_it_was_read_with(book):
    book.built().read(NEAR, "0.3 mm", gauge="IND-07")
    assert book.verdict().slots[NEAR].state is SlotState.OUT


def test_an_unknown_gauge_gets_the_nearest_name(book):
    a_gauge_nobody_knows(book)
    assert book.found("GAU002")[0].hint == "did you mean 'IND-01'?"


def test_the_day_is_that_of_the_shop_and_not_of_utc(book):
    """06:00 UTC on the 21st is 20:00 on the 20th in Honolulu, the last day it is due."""
    book.settings = book.settings.model_copy(update={"time_zone": "Pacific/Honolulu"})
    a_day_past_due(book)
    assert "GAU004" not in book.codes()


def test_the_uncertainty_is_that_of_the_calibration_in_force(book):
    calibrations = (
        Calibration(on=day(book, -20), uncertainty="0.010 mm"),
        Calibration(on=day(book, 1), uncertainty="0.001 mm"),
    )
    change(book, "IND-01", calibrations=calibrations)
    book.built()
    assert "GAU006" in book.codes()


def test_an_uncertainty_of_another_dimension_gives_no_ratio(book):
    change(book, "IND-01", uncertainty="0.1 kg")
    book.built()
    assert "GAU006" not in book.codes()


def test_a_check_that_asks_for_no_gauge_needs_none(book_of):
    book = book_of(UNGAUGED)
    book.issue()
    book.read("10-1", "41 mm", gauge=None)
    assert not {"GAU001", "GAU002"} & book.codes()
    book.read("10-1", "41 mm", gauge="RUL-9")
    assert "GAU002" in book.codes()


UNGAUGED = """
format: 1
product: shelf
title: Shelf
revision: A
revised: 2026-09-14
approved_by: rhale
track: serial
serials: {pattern: "SH{variant}-{n:04}"}
variants: {"1": {title: One}}
operations:
  - number: 10
    title: All
    steps:
      - measure: Height
        id: height
        limits: 40 ± 2 mm
    sign: assembler
"""


def test_the_shop_sets_the_smallest_ratio(book):
    an_uncertainty_of_a_sixth_of_the_tolerance(book)
    book.settings = book.settings.model_copy(update={"minimum_tur": "3"})
    assert "GAU006" not in book.codes()


def day(book, days: int = 0) -> date:
    """The day on which the book is written, or so many days later."""
    return (book.clock + timedelta(days=days)).date()


def change(book, name, **values):
    changed = [gauge.model_copy(update=values) if gauge.id == name else gauge for gauge in book.gauges.gauges]
    book.gauges = type(book.gauges)(gauges=tuple(changed))
