"""What statistics need of one unit: its readings slot by slot, its first tries, what went wrong."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from traveler.definition.plan import Plan, Slot, SlotKind, Step
from traveler.measure.limits import Limits
from traveler.measure.number import Unreadable
from traveler.record.entry import (
    Adjusted,
    Confirmed,
    Decided,
    Entry,
    Read,
    Stopped,
    done_order,
    standing_entries,
)
from traveler.record.records import Unit
from traveler.verdict.case import filled_slots
from traveler.verdict.deciding import worked_row
from traveler.verdict.plan_index import Phase, PlanIndex, PlannedSlot, plan_index
from traveler.verdict.rows import ReadingRow, Weigher
from traveler.verdict.state import UNRELEASED


@dataclass(frozen=True, slots=True)
class AdjustmentTrial:
    """One adjustment: whether as advised (None: not said), and whether the next reading was in."""

    followed: bool | None
    brought_in: bool | None


@dataclass(frozen=True, slots=True)
class SlotReadings:
    """A slot that was read or worked out at least once.

    ``readings`` are in the order in which they were taken. ``stands`` is the one that counts for the unit
    (:func:`reading_that_counts`), None while there is none. ``stopped``: a nonconformance was raised on this
    slot.
    """

    spot: PlannedSlot
    limits: Limits | None
    readings: tuple[ReadingRow, ...]
    stands: ReadingRow | None
    trials: tuple[AdjustmentTrial, ...] = ()
    stopped: bool = False

    @property
    def first(self) -> ReadingRow:
        """The first reading, before any adjustment or rework."""
        return self.readings[0]

    @property
    def passed(self) -> bool:
        """Whether it was right the first time: in at the first reading, and nobody stopped it."""
        return self.first.good and not self.stopped

    @property
    def pair(self) -> tuple[Fraction, Fraction] | None:
        """As found and as left, where the slot was read more than once."""
        if self.stands is None or self.stands is self.first or self.stands.unit != self.first.unit:
            return None
        return self.first.value.value, self.stands.value.value


def reading_that_counts(
    readings: tuple[ReadingRow, ...], phase: Phase, released: int | None, *, finished: bool
) -> ReadingRow | None:
    """The reading that counts for a unit: the last as left before its release.

    ``released`` is the number of the last release that stands. Crating is read after the release, so all its
    readings may count; before a release all that are there may. Where nothing was read as left, the last
    reading as found counts, unless it is out and the unit is still being worked on (``finished`` is
    False): it is not left so yet.
    """
    bounded = released is not None and phase is not Phase.CRATING
    usable = [reading for reading in readings if not bounded or reading.latest < (released or 0)]
    left = [reading for reading in usable if not reading.as_found]
    if left:
        return left[-1]
    if not usable or (not finished and not usable[-1].good):
        return None
    return usable[-1]


def check_named(plan: Plan, step: Step, slot: Slot) -> tuple[str, bool]:
    """The check a slot belongs to, the same over all revisions, and whether it repeats another one.

    A step without an id goes by its text: its number may mean something else in the next revision.
    """
    if slot.repeats is not None:
        first = plan.step_of.get(slot.repeats, step)
        return first.check or first.text, True
    return step.check or step.text, False


def worked_lives(spots: PlanIndex, read: Sequence[SlotReadings], weigher: Weigher) -> Iterator[SlotReadings]:
    """A life for every worked-out slot whose inputs were all read.

    It is judged by the plain rule: a guard band for the uncertainty of a worked-out value belongs to the
    verdict. Time and person are those of its last input.
    """
    lives = {life.spot.slot.id: life for life in read}
    for spot in spots.worked:
        inputs = [lives[name] for name in spot.slot.inputs if name in lives]
        if spot.step is None or not inputs or len(inputs) < len(spot.slot.inputs):
            continue
        first = _worked(spot, spots, weigher, [life.first for life in inputs])
        if first is None:
            continue
        standing = [life.stands for life in inputs if life.stands is not None]
        stands: ReadingRow | None = None
        if len(standing) == len(inputs):
            same = all(life.stands is life.first for life in inputs)
            stands = first if same else _worked(spot, spots, weigher, standing)
        readings = (first,) if stands is None or stands is first else (first, stands)
        yield SlotReadings(spot, first.limits, readings, stands)


def _worked(
    spot: PlannedSlot, spots: PlanIndex, weigher: Weigher, inputs: Sequence[ReadingRow]
) -> ReadingRow | None:
    try:
        return worked_row(spot, spots.limits, weigher, inputs, guarded=False)
    except Unreadable:
        return None


STATISTICS_KINDS = (
    "adjusted", "complained", "confirmed", "decided", "issued", "read", "released", "stopped", "struck",
)  # fmt: skip
"""The kinds of entries that statistics read."""


@dataclass(frozen=True, slots=True)
class Defect:
    """Something that went wrong with a unit; ``spot`` is None where it is about the whole unit."""

    kind: str
    at: datetime
    spot: PlannedSlot | None = None


@dataclass(frozen=True, slots=True)
class Statement:
    """A statement to confirm, the first time it was looked at."""

    spot: PlannedSlot
    passed: bool
    at: datetime


@dataclass(frozen=True, slots=True)
class UnitReadings:
    """What one unit tells. ``slots`` are those with readings and those worked out from them."""

    unit: Unit
    plan: Plan
    slots: tuple[SlotReadings, ...]
    statements: tuple[Statement, ...]
    troubles: tuple[Defect, ...]


def unit_readings(unit: Unit, plan: Plan, entries: Sequence[Entry], weigher: Weigher) -> UnitReadings:
    """The unit's life for statistics, from its entries of :data:`STATISTICS_KINDS` (more do no harm)."""
    standing = standing_entries(entries)
    spots = plan_index(plan)
    released = next((entry.seq for entry in reversed(standing) if entry.body.kind == "released"), None)
    stopped = {entry.slot for entry in standing if isinstance(entry.body, Stopped) and entry.slot is not None}
    finished = unit.state not in UNRELEASED
    read = tuple(_read(spots, standing, weigher, stopped, released, finished=finished))
    worked = worked_lives(spots, read, weigher)
    return UnitReadings(
        unit, plan, (*read, *worked), tuple(_statements(spots, standing)),
        tuple(sorted(_troubles(spots, entries, standing, read), key=lambda trouble: trouble.at)),
    )  # fmt: skip


def _read(
    spots: PlanIndex,
    standing: Sequence[Entry],
    weigher: Weigher,
    stopped: set[str],
    released: int | None,
    *,
    finished: bool,
) -> Iterator[SlotReadings]:
    for slot, filled in filled_slots(spots, standing, besides=("adjusted",)).items():
        spot, entries = filled.planned, filled.entries
        if spot.step is None or spot.slot.kind is not SlotKind.READING:
            continue
        limits = spots.limits.get(spot.step.id)
        taken = [_taken(spot, limits, entry, weigher) for entry in entries]
        readings = tuple(reading for reading in taken if reading is not None)
        if readings:
            stands = reading_that_counts(readings, spot.phase, released, finished=finished)
            trials = tuple(_trials(entries, taken))
            yield SlotReadings(spot, limits, readings, stands, trials, slot in stopped)


def _taken(spot: PlannedSlot, limits: Limits | None, entry: Entry, weigher: Weigher) -> ReadingRow | None:
    """The reading of an entry; None for an adjustment, and for a reading that cannot be understood."""
    body = entry.body
    if not isinstance(body, Read) or spot.step is None:
        return None
    found = weigher.row(spot, spot.step, limits, entry, body)
    return found if isinstance(found, ReadingRow) else None


def _trials(entries: Sequence[Entry], taken: Sequence[ReadingRow | None]) -> Iterator[AdjustmentTrial]:
    for at, entry in enumerate(entries):
        if isinstance(entry.body, Adjusted):
            after = next((row for row in taken[at + 1 :] if row is not None), None)
            yield AdjustmentTrial(entry.body.followed, None if after is None else after.good)


def _statements(spots: PlanIndex, standing: Sequence[Entry]) -> Iterator[Statement]:
    seen: set[str] = set()
    for entry in sorted(standing, key=done_order):
        spot = spots.slots.get(entry.slot or "")
        if isinstance(entry.body, Confirmed) and spot is not None and spot.slot.id not in seen:
            seen.add(spot.slot.id)
            yield Statement(spot, entry.body.yes, entry.at)


def _troubles(
    spots: PlanIndex, entries: Sequence[Entry], standing: Sequence[Entry], read: Sequence[SlotReadings]
) -> Iterator[Defect]:
    """Everything that went wrong, from entries alone: nothing of it is healed by being put right later."""
    for life in read:
        if not life.first.good:
            word = "doubtful" if life.first.state == "doubtful" else "out"
            yield Defect(f"{word} at the first reading", life.first.at, life.spot)
    counted = {entry.seq for entry in standing}
    for entry in entries:
        spot = spots.slots.get(entry.slot or "")
        if entry.seq not in counted:
            if entry.body.kind != "struck":
                yield Defect("struck out", entry.at, spot)
        elif isinstance(entry.body, Confirmed) and not entry.body.yes:
            yield Defect("not confirmed", entry.at, spot)
        elif isinstance(entry.body, Stopped):
            yield Defect("stopped", entry.at, spot)
        elif isinstance(entry.body, Decided) and entry.body.decision == "use_as_is":
            yield Defect("used as it is", entry.at, _of_stop(spots, standing, entry.body.stop))
        elif entry.body.kind == "complained":
            yield Defect("complained about", entry.at, spot)


def _of_stop(spots: PlanIndex, standing: Sequence[Entry], stop: int) -> PlannedSlot | None:
    slot = next((entry.slot for entry in standing if entry.seq == stop), None)
    return spots.slots.get(slot or "")
