"""Recalling a gauge: which readings, worth what, deciding what, and where the units are."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import pytest

from traveler.finding import CannotDo, Weight
from traveler.jobs.append import add, strike
from traveler.jobs.shipping import crate, place, release, ship
from traveler.jobs.stop import stop_affected
from traveler.record.entry import Read, Shipped
from traveler.shop.folder import open_shop
from traveler.shop.gauges import Calibration, Gauge
from traveler.trace.recall import (
    FARTHEST,
    Recall,
    RecallRequest,
    affected_serials,
    findings_of,
    recall,
    span_of,
)
from traveler.trace.reports import COLUMNS, recall_csv, recall_dict
from traveler.verdict.state import SlotState

LEFT, RIGHT, AGAIN = "10-4/side=left", "10-4/side=right", "Q-2/side=left"


def asked(bench: Any, error: str | None = "-0.02 mm", gauge: str = "IND-03", **days: date) -> Recall:
    return recall(bench.session, RecallRequest(gauge, error, **days))


def built(bench: Any, left: str = "0.020", right: str = "0.021", again: str = "0.022") -> str:
    """A unit with these readings, all with IND-03."""
    serial: str = bench.unit()
    values: Mapping[str, str] = {LEFT: left, RIGHT: right, AGAIN: again}
    made = [
        replace(filling, value=values[filling.slot.id],
        gauge="IND-03") if filling.slot.id in values else filling
        for filling in bench.fillings(serial)
    ]  # fmt: skip
    done = bench.record(serial, made)
    assert done.files[0].added == len(made), [str(finding) for finding in done.files[0].findings]
    return serial


def shipped(bench: Any, **values: str) -> str:
    serial = built(bench, **values)
    assert release(bench.session, serial, "qmoor").taken
    bench.record(serial, bench.fillings(serial, ["C"]))
    assert crate(bench.session, serial, "pstrap").taken
    assert place(bench.session, serial, "Bay 3", "pstrap").taken
    assert ship(bench.session, serial, Shipped(customer="Aldermoor Weavers"), "sdock").taken
    return serial


def read(bench: Any, serial: str, slot: str, value: str, gauge: str = "IND-03") -> int:
    bench.later(1)
    body = Read(written=f"{value} mm", value=value, unit="mm", gauge=gauge)
    added = add(bench.session, serial, body, "tkiln", slot=slot)
    assert added.entry is not None
    return added.entry.seq


def test_what_was_accepted_and_should_not_have_been_is_told_with_how_far_and_where(bench: Any) -> None:
    bad = shipped(bench, left="0.041")
    good = built(bench)
    found = asked(bench)
    assert [unit.unit.serial for unit in found.units] == [bad, good]
    first, second = found.units
    assert (first.where, first.shipped) == ("shipped to Aldermoor Weavers on 2026-11-02", True)
    (slot,) = first.failing
    assert (slot.slot, slot.was, slot.now, slot.beyond) == (LEFT, "0.041", "0.061", "0.011 mm over")
    assert (slot.before, slot.after, slot.limits) == (SlotState.IN, SlotState.OUT, "max 0.05 mm")
    assert (second.failing, second.where, second.shipped) == ((), "inspection", False)
    assert [reading.worth for reading in second.readings] == ["0.040 mm", "0.041 mm", "0.042 mm"]
    assert found.counts() == {
        "units": 2, "readings": 6, "deciding": 6, "struck": 0, "read_again": 0, "not_corrected": 0,
        "slots_failing": 1, "slots_clearing": 0, "units_affected": 1, "units_affected_shipped": 1,
    }  # fmt: skip
    (finding,) = findings_of(found)
    assert (finding.code, finding.weight, finding.place.unit) == ("RCL001", Weight.BLOCKING, bad)
    assert finding.hint == "it is shipped to Aldermoor Weavers on 2026-11-02"


def test_the_sign_decides_which_way(bench: Any) -> None:
    built(bench, left="0.041")
    assert asked(bench, "+0.02 mm").affected == ()
    assert list(findings_of(asked(bench, "+0.02 mm"))) == []


def test_a_unit_that_was_refused_wrongly_clears(bench: Any) -> None:
    serial = built(bench, left="0.055")
    found = asked(bench, "+0.02 mm")
    assert found.affected == ()
    assert [reweighing.slot for reweighing in found.units[0].clearing] == [LEFT]
    assert found.counts()["slots_clearing"] == 1
    assert found.units[0].unit.serial == serial


def test_struck_and_superseded_readings_are_listed_and_decide_nothing(bench: Any) -> None:
    serial = built(bench, left="0.041", right="0.041")
    with bench.session.store.reading() as records:
        by_slot = {entry.slot: entry.seq for entry in records.entries(serial)}
    later = read(bench, serial, LEFT, "0.012", gauge="IND-03")
    struck = strike(bench.session, serial, by_slot[RIGHT], "wrong side", "tkiln")
    other = read(bench, serial, RIGHT, "0.011", gauge="IND-07")
    assert struck.entry is not None
    found = asked(bench)
    assert found.affected == ()
    told = {reading.entry.seq: (reading.idle, reading.worth) for reading in found.units[0].readings}
    assert told[by_slot[LEFT]] == (f"read again in #{later}", "0.061 mm")
    assert told[by_slot[RIGHT]] == (f"struck out by #{struck.entry.seq}", "0.061 mm")
    assert told[later] == ("", "0.032 mm")
    assert other not in told
    assert {"struck": 1, "read_again": 1, "deciding": 2}.items() <= found.counts().items()


def test_a_later_reading_that_cannot_be_understood_decides_nothing(bench: Any) -> None:
    serial = built(bench, left="0.041")
    with bench.session.store.reading() as records:
        (first,) = [entry.seq for entry in records.entries(serial) if entry.slot == LEFT]
    bench.later(1)
    body = Read(written="3 kg", value="3", unit="kg", gauge="IND-03")
    with bench.session.store.transaction() as work:
        later = work.append(bench.session.draft(serial, "tkiln", body, slot=LEFT), bench.session.now).seq
    (unit,) = asked(bench).units
    told = {reading.entry.seq: reading for reading in unit.readings}
    assert (told[first].idle, told[first].result is not None) == ("", True)
    assert (told[later].idle != "", told[later].result) == (True, None)
    assert [reweighing.entry for reweighing in unit.failing] == [first]
    assert f"#{later}" not in " ".join(reading.idle for reading in unit.readings)


def test_a_reading_read_again_with_another_gauge_decides_nothing(bench: Any) -> None:
    serial = built(bench, left="0.041")
    other = read(bench, serial, LEFT, "0.012", gauge="IND-07")
    found = asked(bench)
    assert found.affected == ()
    assert f"read again in #{other}" in {reading.idle for reading in found.units[0].readings}


def test_a_strike_that_was_taken_back_counts_again(bench: Any) -> None:
    serial = built(bench, left="0.041")
    with bench.session.store.reading() as records:
        seq = next(entry.seq for entry in records.entries(serial) if entry.slot == LEFT)
    struck = strike(bench.session, serial, seq, "wrong side", "tkiln")
    assert struck.entry is not None
    assert asked(bench).affected == ()
    strike(bench.session, serial, struck.entry.seq, "it was the right side", "tkiln")
    assert affected_serials(asked(bench)) == (serial,)


def test_the_limits_are_those_of_the_revision_the_unit_was_issued_with(bench: Any, edit: Any) -> None:
    old = built(bench, left="0.035")
    edit("limits: max 0.05 mm", "limits: max 0.08 mm")
    edit("revision: A", "revision: B\nchange: Wider play.")
    new = built(bench, left="0.035")
    found = asked(bench)
    assert affected_serials(found) == (old,)
    assert {unit.unit.serial: unit.unit.revision for unit in found.units} == {old: "A", new: "B"}


def test_under_the_guarded_rule_a_unit_may_become_doubtful(bench: Any) -> None:
    settings = bench.session.shop.settings.model_copy(update={"decision_rule": "guarded"})
    bench.session = replace(bench.session, shop=replace(bench.session.shop, settings=settings))
    built(bench, left="0.045")  # with an uncertainty of 0.003 mm
    ((slot,),) = [unit.failing for unit in asked(bench, "-0.004 mm").affected]
    assert (slot.after, slot.acceptance, slot.beyond) == (SlotState.DOUBTFUL, "max 0.047 mm", None)


def test_per_cent_and_another_unit(bench: Any) -> None:
    serial = built(bench, left="0.045")
    assert affected_serials(asked(bench, "-12 %")) == (serial,)  # 0.0511 mm
    assert affected_serials(asked(bench, "-8 %")) == ()  # 0.0489 mm
    assert affected_serials(asked(bench, "-0.0003 in")) == (serial,)  # 0.0526 mm
    assert affected_serials(asked(bench, "-3 µm -5 %")) == (serial,)  # 0.0505 mm


def test_an_error_of_another_dimension_is_told_for_each_reading(bench: Any) -> None:
    built(bench)
    found = asked(bench, "+0.5 kg")
    findings = list(findings_of(found))
    assert [(finding.code, finding.weight) for finding in findings] == [("RCL002", Weight.WARNING)] * 3
    assert found.counts()["not_corrected"] == 3
    assert found.counts()["deciding"] == 0


def test_the_days_in_question_are_both_included(bench: Any) -> None:
    early = built(bench, left="0.041")
    bench.session = replace(bench.session, now=datetime(2026, 11, 5, 9, 0, tzinfo=UTC))
    late = built(bench, left="0.041")
    assert affected_serials(asked(bench)) == (early, late)
    assert affected_serials(asked(bench, since=date(2026, 11, 3))) == (late,)
    assert affected_serials(asked(bench, since=date(2026, 11, 5))) == (late,)
    assert affected_serials(asked(bench, since=date(2026, 11, 6), until=date(2026, 11, 9))) == ()
    assert affected_serials(asked(bench, until=date(2026, 11, 4))) == (early,)
    assert affected_serials(asked(bench, until=date(2026, 11, 2))) == (early,)
    with pytest.raises(CannotDo, match=r"the first day, .*, is after the last day"):
        asked(bench, since=date(2026, 11, 6), until=date(2026, 11, 5))


def gauge(*done: Calibration) -> Gauge:
    return Gauge(id="IND-03", kind="indicator", interval_days=365, calibrations=done)


JAN, JUN, NOV = date(2026, 1, 5), date(2026, 6, 8), date(2026, 11, 1)
TODAY = date(2026, 11, 20)
GOOD_JAN, GOOD_JUN = Calibration(on=JAN), Calibration(on=JUN)
ADJUSTED = Calibration(on=NOV, as_found="out of tolerance", error="+0.02 mm")
FAILED = Calibration(on=NOV, as_found="out of tolerance", error="+0.02 mm", good=False)
BAD_JUN = Calibration(on=JUN, as_found="out of tolerance", good=False)

SPANS = {
    "still in its calibration": ((GOOD_JAN, GOOD_JUN), JUN, TODAY),
    "found out and made good": ((GOOD_JAN, GOOD_JUN, ADJUSTED), JUN, NOV),
    "found out and not made good": ((GOOD_JAN, GOOD_JUN, FAILED), JUN, TODAY),
    "never good before it was found out": ((ADJUSTED,), None, NOV),
    "never calibrated": ((), None, TODAY),
    "a failed one in between does not count": ((GOOD_JAN, BAD_JUN, FAILED), JAN, TODAY),
    "in any order": ((ADJUSTED, GOOD_JUN, GOOD_JAN), JUN, NOV),
    "one in the future does not count": ((GOOD_JAN, Calibration(on=date(2027, 1, 1))), JAN, TODAY),
}


@pytest.mark.parametrize("name", SPANS)
def test_the_time_in_question_is_since_it_was_last_good_until_it_was_found_out(name: str) -> None:
    done, since, until = SPANS[name]
    found = span_of(gauge(*done), TODAY, None, None)
    assert (found.since, found.until) == (since, until)


def test_days_that_are_given_count(bench: Any) -> None:
    found = span_of(gauge(GOOD_JAN, GOOD_JUN, ADJUSTED), TODAY, date(2026, 3, 1), date(2026, 4, 1))
    assert (found.since, found.until) == (date(2026, 3, 1), date(2026, 4, 1))
    assert span_of(gauge(GOOD_JAN, GOOD_JUN), TODAY, None, date(2026, 3, 1)).since == JAN
    assert span_of(gauge(GOOD_JAN), TODAY, None, date.max).until == FARTHEST


def test_a_gauge_that_was_never_good_is_asked_from_the_beginning(bench: Any) -> None:
    serial = built(bench, left="0.041")
    edit_register(bench, "calibrations: [{on: 2026-02-02, certificate: C-2201}]", "calibrations: []")
    found = asked(bench)
    assert (found.since, affected_serials(found)) == (None, (serial,))
    assert "RCL003" in {finding.code for finding in findings_of(found)}


def edit_register(bench: Any, old: str, new: str) -> None:
    path = bench.session.shop.folder / "gauges.yaml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    opened = open_shop(bench.session.shop.folder)
    assert opened.shop is not None, opened.findings
    bench.session = replace(bench.session, shop=opened.shop)


def test_the_error_in_the_register_counts_where_none_is_given(bench: Any) -> None:
    serial = built(bench, left="0.041")
    with pytest.raises(CannotDo, match="neither given nor in the register"):
        asked(bench, None)
    edit_register(
        bench,
        "{on: 2026-02-02, certificate: C-2201}",
        '{on: 2026-02-02}, {on: 2026-11-02, as_found: out of tolerance, error: "-0.02 mm"}',
    )
    found = asked(bench, None)
    assert (str(found.error), affected_serials(found)) == ("-0.02 mm", (serial,))
    assert found.basis == "since its last good calibration on 2026-02-02"


@pytest.mark.parametrize("error", ["0.02 mm", "±0.02 mm", "+0.02", "much"])
def test_an_error_that_cannot_be_read_is_refused(bench: Any, error: str) -> None:
    with pytest.raises(CannotDo):
        asked(bench, error)


def test_an_unknown_gauge_is_refused_and_one_that_was_never_used_has_no_units(bench: Any) -> None:
    with pytest.raises(CannotDo, match="no gauge"):
        asked(bench, gauge="IND-99")
    assert asked(bench, gauge="IND-07").units == ()


def test_affected_units_that_are_here_are_stopped_and_shipped_ones_are_not(bench: Any) -> None:
    gone, here, good = shipped(bench, left="0.041"), built(bench, left="0.042"), built(bench)
    found = asked(bench)
    assert affected_serials(found, shipped=True) == (gone,)
    assert affected_serials(found, shipped=False) == (here,)
    (stopped,) = stop_affected(bench.session, found, "qmoor")
    assert (stopped.serial, stopped.findings, stopped.new) == (here, (), True)
    with bench.session.store.reading() as records:
        states = {serial: records.unit(serial).state for serial in (gone, here, good)}
    assert states == {gone: "shipped", here: "stopped", good: "inspection"}
    (same,) = stop_affected(bench.session, asked(bench), "qmoor")
    assert not same.new


def test_nothing_is_written_by_asking(bench: Any) -> None:
    serial = built(bench, left="0.041")
    with bench.session.store.reading() as records:
        before = records.unit(serial)
    asked(bench)
    with bench.session.store.reading() as records:
        assert records.unit(serial) == before


def test_the_list_has_every_reading_and_no_formula(bench: Any) -> None:
    serial = built(bench, left="-0.041")
    zone = bench.session.shop.zone
    rows = list(csv.DictReader(io.StringIO(recall_csv(asked(bench), zone))))
    assert list(rows[0]) == list(COLUMNS)
    assert [row["slot"] for row in rows] == [LEFT, RIGHT, AGAIN]
    first = rows[0]
    assert first["serial"] == serial
    assert first["as_read"] == "'-0.041 mm"
    assert (first["corrected"], first["state_before"], first["decides"]) == ("'-0.021 mm", "in", "yes")
    said: Any = recall_dict(asked(bench), zone)
    assert said["counts"]["readings"] == 3
    assert [value["serial"] for value in said["units"]] == [serial]
    assert said["units"][0]["readings"][0]["slot"] == LEFT


def test_units_that_fail_come_first_and_a_part_says_what_it_is_fitted_in(bench: Any) -> None:
    good, bad = built(bench), built(bench, left="0.041")
    machine = bench.unit()
    made = [
        replace(filling, value=bad) if filling.slot.id == "10-3" else filling
        for filling in bench.fillings(machine, ["10"]) if filling.slot.id in ("10-1", "10-3")
    ]  # fmt: skip
    bench.record(machine, made)
    found = asked(bench)
    assert [unit.unit.serial for unit in found.units] == [bad, good]
    assert found.units[0].fitted_in == (machine,)
    assert found.units[1].fitted_in == ()
