"""Which reading counts for a unit."""

from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest

from traveler.definition.plan import Operation, Slot, SlotKind, Step, StepKind
from traveler.measure.quantity import Quantity
from traveler.record.entry import Entry, Read
from traveler.trace.stats.unit_readings import check_named, reading_that_counts
from traveler.verdict.plan_index import Phase, PlannedSlot
from traveler.verdict.rows import ReadingRow, Weighed
from traveler.verdict.state import SlotState

NOW = datetime(2026, 9, 14, tzinfo=UTC)


SLOT = Slot(id="10-1", kind=SlotKind.READING, label="Bore")
STEP = Step(id="10-1", number=1, kind=StepKind.MEASURE, text="Bore of the hub", slots=(SLOT,))
PLANNED = PlannedSlot(SLOT, 0, Phase.BUILD, Operation(number="10", title="Hub", steps=(STEP,)), STEP, None)


def taken(seq, *, as_found=False, good=True):
    value = Quantity(Fraction(seq), "mm", str(seq), 0)
    weighed = Weighed(SlotState.IN if good else SlotState.OUT, value, value, str(seq))
    at = NOW + timedelta(minutes=seq)
    body = Read(written=str(seq), value=str(seq), unit="mm", gauge="IND-03", as_found=as_found)
    entry = Entry(
        unit="BW4", at=at, by="tkiln", slot="10-1", body=body, seq=seq, recorded=at, previous="", hash=""
    )
    return ReadingRow(PLANNED, STEP, None, weighed, entry, gauge="IND-03", as_found=as_found, latest=seq)


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
