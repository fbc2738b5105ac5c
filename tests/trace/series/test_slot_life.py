"""Which reading counts for a unit."""

from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest

from traveler.definition.plan import Slot, SlotKind, Step, StepKind
from traveler.trace.stats.unit_readings import CountedReading, check_named, reading_that_counts
from traveler.verdict.plan_index import Phase
from traveler.verdict.state import SlotState

NOW = datetime(2026, 9, 14, tzinfo=UTC)


def taken(seq, *, as_found=False, good=True):
    state = SlotState.IN if good else SlotState.OUT
    return CountedReading(
        Fraction(seq), "mm", state, NOW + timedelta(minutes=seq), seq, "tkiln", "IND-03", as_found
    )


CASES = {
    "the last as left": ([taken(2), taken(5)], Phase.BUILD, None, True, 5),
    "as left before as found, whatever the order": (
        [taken(2), taken(5, as_found=True)], Phase.BUILD, None, True, 2,
    ),
    "nothing read after the release": ([taken(2), taken(9)], Phase.BUILD, 7, True, 2),
    "the final checks are bounded by the release too": ([taken(2), taken(9)], Phase.FINAL, 7, True, 2),
    "crating comes after the release": ([taken(2), taken(9)], Phase.CRATING, 7, True, 9),
    "as found where nothing was read as left": ([taken(3, as_found=True)], Phase.BUILD, 7, True, 3),
    "out as found on a finished unit": ([taken(3, as_found=True, good=False)], Phase.BUILD, 7, True, 3),
    "in as found while at work: nothing to adjust": (
        [taken(3, as_found=True)], Phase.BUILD, None, False, 3,
    ),
    "out as found while at work: not left so yet": (
        [taken(3, as_found=True, good=False)], Phase.BUILD, None, False, None,
    ),
    "only read after the release": ([taken(9)], Phase.BUILD, 7, True, None),
}  # fmt: skip


@pytest.mark.parametrize(("readings", "phase", "released", "finished", "expected"), CASES.values(), ids=CASES)
def test_the_reading_that_counts(readings, phase, released, finished, expected):
    found = reading_that_counts(tuple(readings), phase, released, finished=finished)
    assert (None if found is None else found.seq) == expected


class OnePlan:
    """As much of a plan as naming a check asks for."""

    def __init__(self, step):
        self.step_of = {slot.id: step for slot in step.slots}


def step(check, *slots):
    return Step(id="10-1", number=1, kind=StepKind.MEASURE, text="Bore of the hub", check=check, slots=slots)


def test_a_check_without_an_id_goes_by_its_text():
    slot = Slot(id="10-1", kind=SlotKind.READING, label="Bore")
    named = step(None, slot)
    assert check_named(OnePlan(named), named, slot) == ("Bore of the hub", False)


def test_a_repeat_goes_by_the_first_check():
    first = step("bore", Slot(id="10-1", kind=SlotKind.READING, label="Bore"))
    again = Slot(id="Q-1", kind=SlotKind.READING, label="Bore", repeats="10-1")
    assert check_named(OnePlan(first), step(None, again), again) == ("bore", True)
