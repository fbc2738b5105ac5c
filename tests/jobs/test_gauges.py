"""Calibrations entered, gauges taken out of use and put back: what the register says then, and who may."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from traveler.finding import CannotDo
from traveler.jobs.gauges import Calibrated, GaugeChanged, calibrate, restore_gauge, withdraw_gauge
from traveler.shop.folder import open_shop
from traveler.shop.gauges import GaugeState
from traveler.trace.judging import judge
from traveler.trace.where_used import gauges_due, gauges_listed
from traveler.verdict.state import SlotState

TODAY = date(2026, 11, 2)
GOOD = Calibrated(TODAY, good=True, as_found="in", certificate="C-3001", uncertainty="0.0028 mm")


def codes(changed: GaugeChanged) -> list[str]:
    return [finding.code for finding in changed.findings]


def again(bench: Any) -> Any:
    """The office with the shop's files read again; they must be without a finding."""
    opened = open_shop(bench.session.shop.folder)
    assert opened.findings == ()
    bench.session = replace(bench.session, shop=opened.shop)
    return bench.session


def standing(bench: Any, gauge: str = "IND-03") -> GaugeState:
    ((today, _),) = gauges_listed(again(bench), [gauge])
    return today.standing


def test_a_calibration_is_entered_and_counts_and_nothing_else_changes(bench: Any) -> None:
    path = bench.session.shop.folder / "gauges.yaml"
    before = path.read_text(encoding="utf-8")
    changed = calibrate(bench.session, "IND-03", GOOD, "qmoor")
    assert changed.findings == ()
    assert path.read_text(encoding="utf-8") == before.replace(
        "{on: 2026-02-02, certificate: C-2201}",
        "{on: 2026-02-02, certificate: C-2201}, "
        "{on: 2026-11-02, certificate: C-3001, uncertainty: 0.0028 mm, by: qmoor}",
    )
    gauge = again(bench).shop.gauges.get("IND-03")
    assert gauge.due(TODAY) == date(2027, 11, 2)
    assert gauge.uncertainty_on(TODAY) == ("0.0028 mm", "2")


def test_how_it_came_and_how_it_left_are_told_apart(bench: Any) -> None:
    out = Calibrated(TODAY, good=True, as_found="out", error="+0.02 mm", certificate="C-1")
    assert codes(calibrate(bench.session, "IND-03", out, "qmoor")) == ["CAL003"]
    last = again(bench).shop.gauges.get("IND-03").last_calibration(TODAY)
    assert (last.good, last.found_in, last.error) == (True, False, "+0.02 mm")
    failed = replace(out, good=False, error=None, certificate="C-2")
    assert codes(calibrate(bench.session, "IND-07", failed, "qmoor")) == ["CAL003", "CAL004"]
    assert not again(bench).shop.gauges.get("IND-07").last_calibration(TODAY).good
    assert standing(bench, "IND-07") is GaugeState.NOT_CALIBRATED


def test_a_gauge_in_small_letters_is_found(bench: Any) -> None:
    assert calibrate(bench.session, "ind-03", GOOD, "qmoor").written is not None


REFUSED = [
    (replace(GOOD, on=date(2026, 11, 3)), "qmoor", "CAL001"),
    (replace(GOOD, on=date(2026, 2, 2), certificate="C-2201"), "qmoor", "CAL002"),
    (GOOD, "tkiln", "GAT002"),
    (GOOD, "nobody", "PER001"),
    (GOOD, "oldhand", "PER003"),
]


@pytest.mark.parametrize(("done", "by", "code"), REFUSED)
def test_what_speaks_against_a_calibration_leaves_the_register(
    bench: Any, done: Calibrated, by: str, code: str
) -> None:
    path = bench.session.shop.folder / "gauges.yaml"
    before = path.read_bytes()
    changed = calibrate(bench.session, "IND-03", done, by)
    assert (code in codes(changed), changed.written) == (True, None)
    assert path.read_bytes() == before


UNREADABLE = [
    replace(GOOD, error="0.02 mm"),
    replace(GOOD, error="+0.02 mmm"),
    replace(GOOD, uncertainty="0.003"),
    replace(GOOD, uncertainty="-1 mm"),
    replace(GOOD, k="two"),
]


@pytest.mark.parametrize("done", UNREADABLE)
def test_numbers_that_cannot_be_read_are_told_before_anything_is_written(
    bench: Any, done: Calibrated
) -> None:
    path = bench.session.shop.folder / "gauges.yaml"
    before = path.read_bytes()
    with pytest.raises(CannotDo):
        calibrate(bench.session, "IND-03", done, "qmoor")
    assert path.read_bytes() == before


def test_an_unknown_gauge_gets_the_nearest(bench: Any) -> None:
    with pytest.raises(CannotDo, match="no gauge") as refused:
        withdraw_gauge(bench.session, "IND-04", "dropped", "tkiln")
    assert "IND-0" in refused.value.hint


def test_a_gauge_is_taken_out_of_use_and_comes_back_after_a_calibration(bench: Any) -> None:
    assert (
        withdraw_gauge(bench.session, "IND-03", "Dropped: \"hard\", on the 'floor'", "tkiln").findings == ()
    )
    assert standing(bench) is GaugeState.WITHDRAWN
    away = bench.session.shop.gauges.get("IND-03").withdrawals[0]
    assert (away.reason, away.by) == ("Dropped: \"hard\", on the 'floor'", "tkiln")
    bench.later(24 * 60)
    assert codes(restore_gauge(bench.session, "IND-03", "qmoor")) == ["CAL007"]
    assert codes(calibrate(bench.session, "IND-03", replace(GOOD, on=date(2026, 11, 3)), "qmoor")) == [
        "CAL005"
    ]
    assert codes(restore_gauge(again(bench), "IND-03", "tkiln")) == ["GAT002"]
    assert restore_gauge(bench.session, "IND-03", "qmoor").findings == ()
    assert standing(bench) is GaugeState.FIT
    assert codes(restore_gauge(bench.session, "IND-03", "qmoor")) == ["CAL006"]


def test_a_gauge_of_which_the_day_was_written_by_hand_comes_back_too(bench: Any) -> None:
    path = bench.session.shop.folder / "gauges.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("    kind: indicator\n", "    withdrawn: 2026-11-01 # lent\n    kind: indicator\n", 1)
    )
    assert standing(bench) is GaugeState.WITHDRAWN
    calibrate(bench.session, "IND-03", GOOD, "qmoor")
    assert restore_gauge(again(bench), "IND-03", "qmoor").findings == ()
    assert standing(bench) is GaugeState.FIT
    assert "# lent" in path.read_text(encoding="utf-8")


def test_a_gauge_out_of_use_cannot_be_taken_out_again(bench: Any) -> None:
    withdraw_gauge(bench.session, "IND-03", "dropped", "tkiln")
    changed = withdraw_gauge(again(bench), "IND-03", "dropped", "awick")
    assert (codes(changed), changed.written) == (["CAL006"], None)


def test_a_withdrawal_needs_a_reason(bench: Any) -> None:
    with pytest.raises(CannotDo, match="needs a reason"):
        withdraw_gauge(bench.session, "IND-03", " ", "tkiln")


def test_readings_before_the_withdrawal_stand_and_later_ones_are_refused(bench: Any) -> None:
    serial = bench.built()
    with bench.session.store.reading() as records:
        entries = judge(bench.session, records, serial).entries
    left, right = (
        next(entry for entry in entries if entry.slot == f"10-4/side={side}") for side in ("left", "right")
    )
    between = left.at + (right.at - left.at) / 2
    changed = withdraw_gauge(bench.session, "IND-03", "dropped", "tkiln", between)
    (warned,) = changed.findings
    assert warned.code == "CAL008"
    assert warned.what.endswith("2 readings of 1 unit")  # the other side, and the inspector's
    again(bench)
    with bench.session.store.reading() as records:
        slots = judge(bench.session, records, serial).verdict.slots
    assert slots["10-4/side=left"].state is SlotState.IN
    assert slots["10-4/side=right"].state is SlotState.REFUSED


def test_in_the_hour_that_comes_twice_the_offset_is_written(bench: Any) -> None:
    bench.session = replace(
        bench.session, now=datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    )  # again half past one
    withdraw_gauge(bench.session, "IND-03", "dropped", "tkiln")
    text = (bench.session.shop.folder / "gauges.yaml").read_text(encoding="utf-8")
    assert "out: 2026-10-25T01:30+00:00" in text
    gauge, zone = again(bench).shop.gauges.get("IND-03"), bench.session.shop.zone
    assert gauge.withdrawal_at(bench.session.now, zone) is not None
    assert gauge.withdrawal_at(bench.session.now - timedelta(minutes=30), zone) is None


def test_the_list_tells_how_much_each_gauge_was_used(bench: Any) -> None:
    bench.built()
    listed = {
        today.gauge.id: (str(today.standing), use.readings, use.units)
        for today, use in gauges_listed(bench.session)
    }
    assert listed == {"IND-03": ("fit", 3, 1), "IND-07": ("overdue", 0, 0), "CS-01": ("fit", 0, 0)}


def test_what_is_due_comes_most_urgent_first(bench: Any) -> None:
    assert [gauge.gauge.id for gauge in gauges_due(bench.session, 30)] == ["IND-07"]
    assert [(gauge.gauge.id, gauge.days) for gauge in gauges_due(bench.session, 92)] == [
        ("IND-07", -639), ("CS-01", 92), ("IND-03", 92),
    ]  # fmt: skip
    assert [gauge.gauge.id for gauge in gauges_due(bench.session, 91)] == ["IND-07"]
    withdraw_gauge(bench.session, "IND-07", "lost", "tkiln")
    assert gauges_due(again(bench), 30) == []
