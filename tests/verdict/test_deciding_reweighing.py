"""Slots weighed again with other readings: only what the readings decide, workings worked out again."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from traveler.measure.gauge_error import corrected, parse_error
from traveler.measure.quantity import Quantity, parse_quantity
from traveler.record.entry import Decided, Read, Stopped, Struck
from traveler.verdict.deciding import reweigh
from traveler.verdict.state import SlotState

NEAR, FAR = "30-2/spindle=1,end=near", "30-2/spindle=1,end=far"
TAPER = "30-3/spindle=1"


def read_with(book, gauge: str) -> dict[int, Quantity]:
    """Number of an entry → what was read, for every reading with the gauge."""
    return {
        entry.seq: parse_quantity(f"{entry.body.value} {entry.body.unit}") for entry in book.entries
        if isinstance(entry.body, Read) and entry.body.gauge == gauge
    }  # fmt: skip


def reweighed(book, error: str, gauge: str = "IND-01"):
    found = parse_error(error)
    instead = {seq: corrected(read, found) for seq, read in read_with(book, gauge).items()}
    return {reweighing.slot: reweighing for reweighing in reweigh(book.case(), instead)}


def test_the_plan_has_the_slots_these_tests_speak_of(book):
    planned_slots = book.case().index.slots
    assert {NEAR, FAR} <= set(planned_slots[TAPER].slot.inputs)


def test_a_gauge_that_shows_too_little_lets_a_bad_unit_pass(book):
    book.built().read(NEAR, "0.045 mm")
    slot = reweighed(book, "-0.02 mm")[NEAR]
    assert (slot.before, slot.after, slot.fails, slot.clears) == (SlotState.IN, SlotState.OUT, True, False)
    assert (slot.was, slot.now, slot.unit, slot.beyond) == ("0.045", "0.065", "mm", "0.015 mm over")
    assert slot.entry == book.entries[-1].seq


def test_a_gauge_that_shows_too_much_stops_a_good_unit(book):
    book.built().read(NEAR, "0.055 mm")
    slot = reweighed(book, "+0.02 mm")[NEAR]
    assert (slot.before, slot.after, slot.fails, slot.clears) == (SlotState.OUT, SlotState.IN, False, True)
    assert slot.beyond is None


def test_on_the_limit_is_in_and_a_hair_past_it_is_out(book):
    book.built().read(NEAR, "0.040 mm")
    assert reweighed(book, "-0.01 mm")[NEAR].after is SlotState.IN
    assert reweighed(book, "-0.0100000001 mm")[NEAR].after is SlotState.OUT


def test_an_offset_common_to_both_ends_cancels_in_their_difference_and_a_share_does_not(book):
    book.built()
    book.read(NEAR, "0.045 mm")
    book.read(FAR, "0.026 mm")
    offset, share = reweighed(book, "-0.01 mm")[TAPER], reweighed(book, "-10 %")[TAPER]
    assert (offset.was, offset.now, offset.after) == ("0.019", "0.019", SlotState.IN)
    assert offset.worked
    assert share.before is SlotState.IN
    assert share.after is SlotState.OUT  # 0.019 / 0.9 is more than 0.02
    assert share.fails


def test_an_offset_does_not_cancel_where_one_end_was_read_with_another_gauge(book):
    book.gauges = book.gauges.model_copy(
        update={"gauges": (*book.gauges.gauges, book.gauges.gauges[0].model_copy(update={"id": "IND-02"}))}
    )
    book.built()
    book.read(NEAR, "0.045 mm", gauge="IND-02")
    book.read(FAR, "0.026 mm")
    slot = reweighed(book, "+0.01 mm", gauge="IND-01")[TAPER]
    assert (slot.was, slot.now, slot.after) == ("0.019", "0.029", SlotState.OUT)


def test_a_reading_that_was_read_again_decides_nothing(book):
    book.built()
    book.read(NEAR, "0.049 mm")
    instead = {book.entries[-1].seq: parse_quantity("0.069 mm")}
    book.read(NEAR, "0.030 mm")
    assert reweigh(book.case(), instead) == ()


def test_a_reading_that_was_struck_out_decides_nothing_and_the_one_before_it_does(book):
    book.built()
    first = book.read(NEAR, "0.049 mm")
    second = book.read(NEAR, "0.020 mm")
    book.write(Struck(strikes=second.seq, reason="wrong spindle"), by="asm")
    assert reweigh(book.case(), {second.seq: parse_quantity("0.9 mm")}) == ()
    (reweighing, taper) = reweigh(book.case(), {first.seq: parse_quantity("0.069 mm")})
    assert (reweighing.slot, reweighing.after, taper.slot) == (NEAR, SlotState.OUT, TAPER)


def test_a_reading_as_found_decides_only_while_there_is_none_as_left(book):
    book.issue()
    found = book.read(NEAR, "0.049 mm", as_found=True)
    other = {found.seq: parse_quantity("0.069 mm")}
    assert [reweighing.after for reweighing in reweigh(book.case(), other)] == [SlotState.OUT]
    book.read(NEAR, "0.020 mm")
    assert reweigh(book.case(), other) == ()


def test_under_the_guarded_rule_a_reading_may_become_doubtful(book):
    book.settings = book.settings.model_copy(update={"decision_rule": "guarded"})
    book.built().read(NEAR, "0.045 mm")
    slot = reweighed(book, "-0.004 mm")[NEAR]  # 0.049 mm, with an uncertainty of 0.002 mm against 0.05 mm
    assert (slot.before, slot.after, slot.fails) == (SlotState.IN, SlotState.DOUBTFUL, True)
    assert slot.acceptance == "max 0.048 mm"
    assert slot.beyond is None


def test_a_concession_is_told_for_what_was_thought_to_be_there(book):
    book.built()
    book.read(NEAR, "0.055 mm")
    stop = book.write(Stopped(what="run-out"), NEAR)
    book.write(Decided(stop=stop.seq, decision="use_as_is", concession="CR-7"), NEAR, by="qual")
    slot = reweighed(book, "-0.02 mm")[NEAR]
    assert (slot.concession, slot.before, slot.after, slot.fails) == (
        "CR-7",
        SlotState.OUT,
        SlotState.OUT,
        False,
    )
    assert slot.now == "0.075"


def test_nothing_else_of_the_unit_is_weighed(book):
    book.built()
    found = reweighed(book, "+0.1 N·m", gauge="TRQ-01")
    assert found
    assert {serial.split("/")[0] for serial in found} == {"10-3"}


thousandths = st.integers(0, 90).map(lambda number: Decimal(number) / 1000)
errors = st.integers(-60, 60).map(lambda number: Decimal(number) / 1000)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=60)
@given(near=thousandths, far=thousandths, error=errors)
def test_every_state_is_that_of_the_true_value(book, near, far, error):
    book.entries.clear()
    book.issue()
    book.read(NEAR, f"{near:f} mm")
    book.read(FAR, f"{far:f} mm")
    found = reweighed(book, f"{error:+f} mm")
    for slot, value in ((NEAR, near), (FAR, far)):
        true = Fraction(value) - Fraction(error)
        assert found[slot].before is (SlotState.IN if value <= Decimal("0.05") else SlotState.OUT)
        assert found[slot].after is (SlotState.IN if true <= Fraction(1, 20) else SlotState.OUT)
    assert found[TAPER].before is found[TAPER].after


@pytest.mark.parametrize("unit", ["mm", "µm", "in"])
def test_a_reading_in_another_unit_is_weighed_in_that_of_the_limits(book, unit):
    book.built()
    written = {"mm": "0.0508 mm", "µm": "50.8 µm", "in": "0.002 in"}[unit]
    book.read(NEAR, written)
    slot = reweighed(book, "+0.0008 mm")[NEAR]
    assert (slot.before, slot.after, slot.unit) == (SlotState.OUT, SlotState.IN, "mm")
