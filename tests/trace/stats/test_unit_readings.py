"""What one unit tells, from its entries."""

from fractions import Fraction

from traveler.measure.number import parse_number
from traveler.trace.judging import judge


def slot(life, check, position=""):
    return next(
        slot
        for slot in life.slots
        if slot.spot.step.check == check and (not position or position in slot.spot.slot.id)
    )


def test_what_counts_is_what_the_verdict_lets_stand(year, lives):
    """For every unit and slot: the same reading, in the unit of the limits, in the same state."""
    compared = 0
    with year.store.reading() as records:
        for serial, life in lives.items():
            slots = judge(year, records, serial).verdict.slots
            for slot in life.slots:
                verdict = slots[slot.spot.slot.id]
                assert slot.stands is not None
                assert slot.stands.state == verdict.state or verdict.state == "refused"
                assert slot.stands.unit == verdict.unit
                if not slot.spot.slot.inputs:
                    assert slot.stands.seq == verdict.entry
                    assert slot.stands.value.value == parse_number(verdict.value).value
                compared += 1
    assert compared > 500


def test_a_struck_reading_is_no_first_reading(lives):
    life = list(lives.values())[20]
    near = slot(life, "runout", "end=near")
    assert len(near.readings) == 1
    assert near.first.value.value < Fraction(1, 10)
    assert [trouble.kind for trouble in life.troubles if trouble.kind == "struck out"] == ["struck out"]


def test_the_first_reading_is_the_one_before_the_adjustment(lives):
    brake = slot(list(lives.values())[9], "brake")
    assert brake.first.as_found
    assert not brake.passed
    found, left = brake.pair
    assert (found > Fraction(4, 10), left) == (True, brake.stands.value.value)
    assert [(trial.followed, trial.brought_in) for trial in brake.trials] == [(False, False)]


def test_a_slot_read_once_has_no_pair(lives):
    assert slot(next(iter(lives.values())), "pin-height").pair is None


def test_a_stop_fails_the_slot_whatever_was_read(lives):
    stopped = [
        serial
        for serial, life in lives.items()
        if slot_or_none(life, "brake") and slot(life, "brake").stopped
    ]
    assert stopped == [list(lives)[9], list(lives)[39]]


def slot_or_none(life, check):
    return next((slot for slot in life.slots if slot.spot.step.check == check), None)


def test_a_statement_counts_as_it_was_first_found(lives):
    passed = [all(statement.passed for statement in life.statements) for life in lives.values()]
    assert [at for at, flag in enumerate(passed) if not flag] == [12]


def test_troubles_are_told_though_they_were_put_right(lives):
    kinds = [trouble.kind for life in lives.values() for trouble in life.troubles]
    assert {kind: kinds.count(kind) for kind in set(kinds)} == {
        "out at the first reading": 18, "stopped": 2, "used as it is": 1, "not confirmed": 1, "struck out": 1,
    }  # fmt: skip


def test_a_worked_out_value_is_that_of_its_readings(lives):
    for life in lives.values():
        near, far = slot(life, "runout", "end=near"), slot(life, "runout", "end=far")
        taper = slot(life, "taper")
        assert taper.stands.value.value == abs(near.stands.value.value - far.stands.value.value)
        assert taper.stands.at == max(near.stands.at, far.stands.at)
        assert taper.stands.gauge == near.stands.gauge == far.stands.gauge
