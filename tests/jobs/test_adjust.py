"""Advice from the recorded readings, and the adjustment kept beside it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from traveler.demo.floor import as_csv
from traveler.finding import CannotDo
from traveler.jobs.adjust import Done, advice_for, keep_adjustment
from traveler.jobs.record import record
from traveler.record.entry import Adjusted
from traveler.trace.judging import judge
from traveler.verdict.advice import advice_lines

LEFT, RIGHT = "10-4/side=left", "10-4/side=right"


def read(bench: Any, serial: str, slot: str, value: str, *, as_found: bool = False) -> None:
    like = next(filling for filling in bench.fillings(serial) if filling.slot.id == slot)
    bench.later(5)
    at = bench.session.now.astimezone(bench.session.shop.zone)
    made = [replace(like, value=value, as_found=as_found, at=at)]
    done = record(bench.session, [(Path("one.csv"), as_csv(made, serial, bench.plans[serial]))])
    assert done.files[0].added == 1, done.files[0].findings


def advice(bench: Any, serial: str, asked: str) -> Any:
    with bench.session.store.reading() as records:
        return advice_for(judge(bench.session, records, serial), asked)


def test_advice_is_worked_out_for_each_slot_that_was_read(bench: Any) -> None:
    serial = bench.unit()
    read(bench, serial, LEFT, "0.125")
    read(bench, serial, RIGHT, "0.030")
    left, right = advice(bench, serial, "play")
    assert (left.slots, left.reading, left.text) == ((LEFT,), "0.125 mm", "turn ½ clockwise")
    assert (right.slots, right.advice.needed) == ((RIGHT,), False)
    assert advice(bench, serial, LEFT) == (left,)


def test_the_adjustment_is_kept_beside_the_advice_and_whether_it_was_followed(bench: Any) -> None:
    serial = bench.unit()
    read(bench, serial, LEFT, "0.125", as_found=True)
    kept = keep_adjustment(
        bench.session, serial, LEFT, Done("hinge screw", "tkiln", amount="1/2 turn clockwise", followed=True)
    )
    assert [entry.slot for entry in kept.entries] == [LEFT]
    body = kept.entries[0].body
    assert isinstance(body, Adjusted)
    assert (body.done, body.amount, body.advised, body.followed) == (
        "hinge screw", "1/2 turn clockwise", "turn ½ clockwise", True,
    )  # fmt: skip
    assert kept.findings == ()


def test_read_again_after_the_adjustment_it_is_in_and_both_readings_stay(bench: Any) -> None:
    serial = bench.unit()
    read(bench, serial, LEFT, "0.125", as_found=True)
    bench.later(1)
    keep_adjustment(bench.session, serial, LEFT, Done("hinge screw", "tkiln", followed=False))
    read(bench, serial, LEFT, "0.024")
    with bench.session.store.reading() as records:
        judged = judge(bench.session, records, serial)
    slot = judged.verdict.slots[LEFT]
    assert (slot.state, slot.value, slot.readings) == ("in", "0.024", 2)
    assert advice_lines(judged) == []


def test_an_adjustment_without_a_reading_has_nothing_to_go_by(bench: Any) -> None:
    serial = bench.unit()
    with pytest.raises(CannotDo, match="nothing was read yet"):
        advice(bench, serial, "play")


@pytest.mark.parametrize(
    ("asked", "hint"),
    [("plya", "did you mean 'play'?"), ("gross-mass", "give it 'adjust'"), ("10-1", "give it")],
)
def test_what_cannot_be_adjusted_is_told(bench: Any, asked: str, hint: str) -> None:
    serial = bench.unit()
    with pytest.raises(CannotDo) as refused:
        advice(bench, serial, asked)
    assert hint in refused.value.hint


def test_of_a_check_with_several_slots_one_has_to_be_named(bench: Any) -> None:
    serial = bench.unit()
    read(bench, serial, LEFT, "0.125")
    read(bench, serial, RIGHT, "0.130")
    with pytest.raises(CannotDo, match="has 2 slots; name the adjusted one"):
        keep_adjustment(bench.session, serial, "play", Done("screw", "tkiln"))


def test_who_may_not_adjust_leaves_nothing_behind(bench: Any) -> None:
    serial = bench.unit()
    read(bench, serial, LEFT, "0.125")
    refused = keep_adjustment(bench.session, serial, LEFT, Done("screw", "nobody"))
    assert (refused.entries, [finding.code for finding in refused.findings]) == ((), ["PER001"])
    with bench.session.store.reading() as records:
        assert not [entry for entry in records.entries(serial) if isinstance(entry.body, Adjusted)]


LEVEL = """\
      - measure: Height at the feet
        id: feet
        at: {foot: [A, B, C]}
        limits: 0.00 ± 0.10 mm
        gauge: indicator
        adjust: {level: foot, pitch: 1.5 mm, places: {A: [0, 0], B: [400, 0], C: [200, 300]}}
      - work_out: Tilt
        id: tilt
        how: {tilt: feet, places: {A: [0, 0], B: [400, 0], C: [200, 300]}}
        limits: max 0.20 mm/m
"""


@pytest.fixture
def levelled(bench: Any, edit: Any) -> str:
    """A unit with three feet, of which one stands high."""
    edit("      - witness: Lock holds", LEVEL + "      - witness: Lock holds")
    serial = bench.unit()
    read(bench, serial, "10-5/foot=A", "0.00")
    read(bench, serial, "10-5/foot=B", "0.30")
    return str(serial)


def test_levelling_waits_until_every_foot_was_read(bench: Any, levelled: str) -> None:
    (only,) = advice(bench, levelled, "feet")
    assert only.advice is None
    assert "no reading at C" in only.problem


def test_levelling_advises_all_feet_at_once_and_keeps_one_adjustment_for_each(
    bench: Any, levelled: str
) -> None:
    read(bench, levelled, "10-5/foot=C", "0.00")
    (step,) = advice(bench, levelled, "feet")
    assert len(step.slots) == 3
    assert step.advice.reaches
    assert "B: turn" in step.text
    assert "counter-clockwise" in step.text
    kept = keep_adjustment(bench.session, levelled, "feet", Done("as advised", "tkiln", followed=True))
    assert [entry.slot for entry in kept.entries] == list(step.slots)


def test_a_worked_out_tilt_is_brought_in_through_the_feet_it_is_worked_out_from(
    bench: Any, levelled: str
) -> None:
    read(bench, levelled, "10-5/foot=C", "0.00")
    (only,) = advice(bench, levelled, "tilt")
    assert (only.check, only.limits) == ("tilt", "max 0.20 mm/m")
    assert "B: turn" in only.text
