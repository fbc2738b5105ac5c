"""Findings about readings, each raised when it should be and silent when it should be."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from traveler.record.entry import Adjusted, Confirmed, Decided, Read, Stopped
from traveler.verdict.state import SlotState

NEAR = "30-2/spindle=1,end=near"
FAR = "30-2/spindle=1,end=far"
GUIDE = "30-4/spindle=1"
Write = Callable[..., object]


def over_the_upper_limit(book):
    book.built().read(FAR, "0.05 mm")
    book.read(NEAR, "0.0501 mm")


def another_unit_that_is_out(book):
    book.built().read(NEAR, "0.002 in")


def in_the_guard_band(book):
    book.built().read(GUIDE, "42.14 mm")


def without_a_unit(book):
    book.built().read(NEAR, "0.04")


def a_torque_where_a_length_is_expected(book):
    book.built().read(NEAR, "24 N·m")


def no_number(book):
    book.built().read(NEAR, "ok mm")


def a_hundred_times_too_much(book):
    book.built().read(NEAR, "4.1 mm")


def a_metre_below_zero(book):
    book.built().read(NEAR, "-1 m")


def more_digits_than_the_indicator_shows(book):
    book.built().read(NEAR, "0.0413 mm")


def read_with_a_coarse_gauge(book):
    book.gauges = with_gauge(book.gauges, "IND-01", resolution="0.01 mm")
    book.built()


def all_run_outs_equal(book):
    book.built()
    for slot in book.plan.slots():
        if slot.id.startswith("30-2/"):
            book.read(slot.id, "0.031 mm")


def adjusted_first_and_read_then(book):
    book.issue()
    book.write(Adjusted(done="bush turned"), NEAR)
    book.read(NEAR, "0.03 mm")


def so_uncertain_that_nothing_is_left(book):
    book.gauges = with_gauge(book.gauges, "HGT-01", uncertainty="0.2 mm")
    book.built()


def guarded_without_uncertainty(book):
    book.gauges = with_gauge(book.gauges, "HGT-01", uncertainty=None)
    book.built()


def heights_in_kelvin_cannot_be_levelled(book):
    book.settings = book.settings.model_copy(update={"decision_rule": "simple"})
    book.built()
    step = book.plan.step_of["20-3"].model_copy(update={"how": book.plan.step_of["20-3"].how.model_copy(
        update={"coordinates": {}})})  # fmt: skip
    book.plan = with_step(book.plan, step)


def deburring_found_not_done(book):
    book.built().write(Confirmed(yes=False), "40-5", by="asm")


def limits_that_cannot_be_read(book):
    book.built()
    step = book.plan.step_of[NEAR]
    limits = step.limits.model_copy(update={"text": "about 0.05"})
    book.plan = with_step(book.plan, step.model_copy(update={"limits": limits}))


RAISED: dict[str, list[Write]] = {
    "REA001": [over_the_upper_limit, another_unit_that_is_out],
    "REA002": [in_the_guard_band],
    "REA003": [without_a_unit],
    "REA004": [a_torque_where_a_length_is_expected],
    "REA005": [no_number],
    "REA006": [a_hundred_times_too_much, a_metre_below_zero],
    "REA007": [more_digits_than_the_indicator_shows],
    "REA008": [read_with_a_coarse_gauge],
    "REA009": [all_run_outs_equal],
    "REA010": [adjusted_first_and_read_then],
    "REA011": [so_uncertain_that_nothing_is_left],
    "REA012": [guarded_without_uncertainty],
    "REA013": [heights_in_kelvin_cannot_be_levelled],
    "REA014": [deburring_found_not_done],
    "REA015": [limits_that_cannot_be_read],
}


def on_the_limit(book):
    book.built().read(NEAR, "0.050 mm")


def out_then_adjusted_and_in(book):
    book.built()
    book.read(NEAR, "0.07 mm", as_found=True)
    book.write(Adjusted(done="bush turned"), NEAR)
    book.read(NEAR, "0.03 mm")


def on_the_acceptance_limit(book):
    book.built().read(GUIDE, "42.135 mm")


def in_another_unit_of_length(book):
    book.built().read(NEAR, "0.001 in")


def unit_missing_and_read_again(book):
    book.built().read(NEAR, "0.04")
    book.read(NEAR, "0.04 mm")


def out_by_a_plausible_amount(book):
    book.built().read(NEAR, "0.09 mm")


def a_little_below_zero(book):
    book.built().read(NEAR, "-0.10 mm")


def as_many_digits_as_the_indicator_shows(book):
    book.built().read(NEAR, "0.041 mm")


def coarse_by_exactly_a_tenth(book):
    book.gauges = with_gauge(book.gauges, "IND-01", resolution="0.005 mm")
    book.built()


def all_but_one_equal(book):
    all_run_outs_equal(book)
    book.read(NEAR, "0.030 mm")


def equal_torques_of_a_coarse_wrench(book):
    book.gauges = with_gauge(book.gauges, "TRQ-01", resolution="0.5 N·m")
    book.built()
    for slot in book.plan.slots():
        if slot.id.startswith("10-3/"):
            book.read(slot.id, "24 N·m")


def two_equal_plate_angles(book):
    book.built()
    book.read("10-4/plate=left", "90.02 deg")
    book.read("10-4/plate=right", "90.02 deg")


def read_adjusted_and_read(book):
    book.issue()
    book.read(NEAR, "0.07 mm")
    book.write(Adjusted(done="bush turned"), NEAR)


def simple_without_uncertainty(book):
    book.gauges = with_gauge(book.gauges, "IND-01", uncertainty=None)
    book.built()


def deburring_found_not_done_then_done(book):
    deburring_found_not_done(book)
    book.write(Confirmed(), "40-5", by="asm")


def good(book):
    book.built()


SILENT: dict[str, list[Write]] = {
    "REA001": [on_the_limit, out_then_adjusted_and_in, in_another_unit_of_length],
    "REA002": [on_the_acceptance_limit],
    "REA003": [unit_missing_and_read_again],
    "REA004": [in_another_unit_of_length],
    "REA005": [good],
    "REA006": [out_by_a_plausible_amount, a_little_below_zero],
    "REA007": [as_many_digits_as_the_indicator_shows, in_another_unit_of_length],
    "REA008": [coarse_by_exactly_a_tenth],
    "REA009": [all_but_one_equal, equal_torques_of_a_coarse_wrench, two_equal_plate_angles],
    "REA010": [read_adjusted_and_read, out_then_adjusted_and_in],
    "REA011": [good],
    "REA012": [simple_without_uncertainty],
    "REA013": [good],
    "REA014": [deburring_found_not_done_then_done],
    "REA015": [good],
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


def test_a_reading_out_says_how_far_and_what_to_do(book):
    over_the_upper_limit(book)
    (found,) = book.found("REA001")
    assert found.what == "0.0501 mm against max 0.05 mm: 0.0001 mm over"
    assert found.hint.startswith("Turn the eccentric bush")
    assert str(found.place).startswith(f"{book.unit} {NEAR} #")


def test_a_reading_out_in_another_unit_shows_what_was_written(book):
    another_unit_that_is_out(book)
    assert book.found("REA001")[0].what == "0.0508 mm (written 0.002 in) against max 0.05 mm: 0.0008 mm over"


def test_an_implausible_reading_names_the_unit_that_would_fit(book):
    book.built().read("40-2", "1.8 N")
    book.read(NEAR, "41 mm")
    assert book.found("REA006")[0].hint == "was it 41 µm?"


def test_the_guarded_check_shows_its_acceptance_limits(book):
    in_the_guard_band(book)
    slot = book.verdict().slots[GUIDE]
    assert slot.state is SlotState.DOUBTFUL
    assert slot.acceptance == "41.865 to 42.135 mm"


def test_the_last_reading_done_rules_whatever_the_order_of_recording(book):
    book.built()
    early = book.clock
    book.read(NEAR, "0.03 mm")
    book.read(NEAR, "0.08 mm", at=early, recorded=book.clock)
    assert book.verdict().slots[NEAR].value == "0.03"
    assert "SEQ006" in book.codes()


def test_a_reading_as_found_rules_only_where_none_was_left(book):
    book.issue()
    book.read(NEAR, "0.03 mm")
    book.read(NEAR, "0.09 mm", as_found=True)
    assert book.verdict().slots[NEAR].state is SlotState.IN
    book.read(FAR, "0.09 mm", as_found=True)
    assert book.verdict().slots[FAR].state is SlotState.OUT


def test_a_written_number_keeps_its_digits(book):
    book.built().read(NEAR, "0.040 mm")
    assert book.verdict().slots[NEAR].value == "0.040"


def test_a_worked_out_value_is_judged_like_a_reading(book):
    book.built()
    book.read("30-2/spindle=2,end=near", "0.045 mm")
    book.read("30-2/spindle=2,end=far", "0.015 mm")
    slot = book.verdict().slots["30-3/spindle=2"]
    assert (slot.state, slot.value, slot.where) == (SlotState.OUT, "0.030", "larger at end near")
    assert [item.place.slot for item in book.found("REA001")] == ["30-3/spindle=2"]


def test_a_worked_out_value_waits_for_all_its_readings(book):
    book.issue()
    book.read("30-2/spindle=2,end=near", "0.045 mm")
    assert book.verdict().slots["30-3/spindle=2"].state is SlotState.OPEN


def test_under_the_guarded_rule_a_worked_out_value_gets_the_uncertainty_of_its_readings(book):
    """Two readings of U = 0.002 mm each: their difference has 0.002·√2 = 0.0028 mm (JCGM 100:2008 5.1.2)."""
    book.settings = book.settings.model_copy(update={"decision_rule": "guarded"})
    book.issue()
    book.read("30-2/spindle=2,end=near", "0.040 mm")
    book.read("30-2/spindle=2,end=far", "0.023 mm")
    book.read("30-2/spindle=3,end=near", "0.041 mm")
    book.read("30-2/spindle=3,end=far", "0.023 mm")
    slots = book.verdict().slots
    assert slots["30-3/spindle=2"].state is SlotState.IN
    assert slots["30-3/spindle=3"].state is SlotState.DOUBTFUL
    assert slots["30-3/spindle=3"].acceptance.startswith("max 0.01717")


def test_a_shop_may_compare_by_the_rounding_method(book):
    book.settings = book.settings.model_copy(update={"rounding": "rounding"})
    over_the_upper_limit(book)
    assert "REA001" not in book.codes()


def test_what_is_used_as_is_under_a_concession_is_noted_and_does_not_block(book):
    book.built()
    book.read(FAR, "0.05 mm")
    book.read(NEAR, "0.06 mm")
    stop = book.write(Stopped(what="run-out over"), NEAR)
    book.write(Decided(stop=stop.seq, decision="use_as_is", concession="C-12"), NEAR, by="qual")
    found = book.verdict()
    assert "REA001" not in {finding.code for finding in found.findings}
    assert [finding.weight for finding in found.findings if finding.code == "NON006"] == ["note"]
    assert found.slots[NEAR].state is SlotState.OUT
    book.read(NEAR, "0.09 mm")
    assert "REA001" in book.codes()


def test_a_worked_out_value_can_be_conceded_too(book):
    book.built()
    book.read(NEAR, "0.05 mm")
    book.read(FAR, "0.01 mm")
    slot = "30-3/spindle=1"
    stop = book.write(Stopped(what="ends differ"), slot)
    book.write(Decided(stop=stop.seq, decision="use_as_is", concession="C-13"), slot, by="qual")
    assert "REA001" not in book.codes()
    book.read(FAR, "0.00 mm")
    assert [item.place.slot for item in book.found("REA001")] == [slot]


def test_readings_of_another_slot_are_not_covered_by_a_concession(book):
    book.built()
    book.read(NEAR, "0.05 mm")
    book.read(FAR, "0.06 mm")
    stop = book.write(Stopped(what="run-out over"), NEAR)
    book.write(Decided(stop=stop.seq, decision="use_as_is", concession="C-12"), NEAR, by="qual")
    assert [item.place.slot for item in book.found("REA001")] == [FAR]


def test_a_hostile_number_is_refused_and_costs_nothing(book):
    book.issue()
    body = Read(written="1e999999999", value="1e999999999", unit="mm", gauge="IND-01")
    book.write(body, NEAR)
    assert book.verdict().slots[NEAR].state is SlotState.REFUSED


def with_gauge(register, name, **values):
    gauges = tuple(
        gauge.model_copy(update=values) if gauge.id == name else gauge for gauge in register.gauges
    )
    return register.model_copy(update={"gauges": gauges}).model_validate({"gauges": gauges})


def with_step(plan, step):
    operations = tuple(
        operation.model_copy(
            update={"steps": tuple(step if old.id == step.id else old for old in operation.steps)}
        )
        for operation in plan.operations
    )
    return plan.model_validate(
        plan.model_dump() | {"operations": [operation.model_dump() for operation in operations]}
    )


def test_a_slipped_decimal_point_is_named(book):
    book.built().read("30-4/spindle=1", "4.2 mm")
    book.read("Q-3", "612.0 dB", by="insp")
    book.read("40-7", "120000 1/min")
    hints = {finding.place.slot: finding.hint for finding in book.found("REA006")}
    assert hints["40-7"] == "is the decimal point in its place? 1200 rpm would be inside"


def test_a_statement_found_not_so_can_be_conceded(book):
    book.built().write(Confirmed(yes=False), "40-5", by="asm")
    stop = book.write(Stopped(what="burr inside the channel"), "40-5")
    book.write(Decided(stop=stop.seq, decision="use_as_is", concession="C-3"), "40-5", by="qual")
    assert "REA014" not in book.codes()
    assert "used as is under C-3" in book.found("NON006")[0].what


def test_equal_worked_out_values_are_no_copies(book):
    book.built()
    for number in range(1, 5):
        book.read(f"30-2/spindle={number},end=near", f"0.03{number} mm")
        book.read(f"30-2/spindle={number},end=far", f"0.02{number} mm")
    slots = book.verdict().slots
    assert {slots[f"30-3/spindle={number}"].value for number in range(1, 5)} == {"0.010"}
    assert "REA009" not in book.codes()


def test_readings_of_a_guarded_shop_without_uncertainty_leave_worked_out_values_doubtful(book):
    book.settings = book.settings.model_copy(update={"decision_rule": "guarded"})
    book.gauges = with_gauge(book.gauges, "IND-01", uncertainty=None)
    book.built()
    assert book.verdict().slots["30-3/spindle=1"].state is SlotState.DOUBTFUL


def test_worked_out_values_without_limits_are_only_told(book):
    step = book.plan.step_of["30-3/spindle=1"]
    book.built()
    book.plan = with_step(book.plan, step.model_copy(update={"limits": None}))
    slot = book.verdict().slots["30-3/spindle=1"]
    assert slot.state is SlotState.DONE
    assert slot.value is not None


def test_a_plan_that_does_not_say_how_is_a_finding(book):
    step = book.plan.step_of["30-3/spindle=1"]
    book.built()
    book.plan = with_step(book.plan, step.model_copy(update={"how": None}))
    assert "REA013" in book.codes()


def test_readings_without_limits_or_resolution_are_only_told(book):
    step = book.plan.step_of[NEAR]
    book.gauges = with_gauge(book.gauges, "IND-01", resolution=None)
    book.built()
    book.plan = with_step(book.plan, step.model_copy(update={"limits": None, "gauge": None}))
    assert book.verdict().slots[NEAR].state is SlotState.DONE
    assert not {"REA001", "REA007", "REA008"} & book.codes()


def test_a_reading_in_inches_on_a_metric_gauge_is_as_fine_as_its_last_place(book):
    book.built().read(NEAR, "0.00101 in")
    assert "REA007" in book.codes()
    book.read(NEAR, "0.0011 in")
    assert "REA007" not in book.codes()


def test_a_resolution_of_another_dimension_says_nothing(book):
    book.gauges = with_gauge(book.gauges, "IND-01", resolution="1 kg")
    book.built()
    assert not {"REA007", "REA008", "REA009"} & book.codes()


def test_an_unreadable_resolution_falls_silent(book):
    book.gauges = with_gauge(book.gauges, "IND-01", resolution="fine")
    book.built().read(NEAR, "0.04123 mm")
    assert "REA007" not in book.codes()


def test_half_steps_are_steps(book):
    book.gauges = with_gauge(book.gauges, "TRQ-01", resolution="0.5 N·m")
    book.built().read("10-3/screw=1", "24.5 N·m")
    assert "10-3/screw=1" not in str(book.found("REA007"))
    book.read("10-3/screw=1", "24.3 N·m")
    assert "REA007" in book.codes()
