"""From the entries of one unit to what statistics need of it: its slots, its first tries, its troubles.

Struck entries never count. Everything is judged by the plan the unit was issued with.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from traveler.definition.plan import Plan, SlotKind
from traveler.measure.limits import Limits
from traveler.record.entry import Adjusted, Confirmed, Decided, Entry, Read, Stopped
from traveler.record.unit import Unit
from traveler.trace.series.slot_life import SlotLife, Taken, Trial, counts
from traveler.trace.series.weigher import Weigher
from traveler.trace.series.worked import worked_lives
from traveler.verdict.counting import counting
from traveler.verdict.outcome import UnitState
from traveler.verdict.planned import Planned, Spot, planned

KINDS = (
    "adjusted", "complained", "confirmed", "decided", "issued", "read", "released", "stopped", "struck",
)  # fmt: skip
"""The kinds of entries that statistics read."""

UNFINISHED = frozenset({UnitState.ISSUED, UnitState.BUILDING, UnitState.INSPECTION, UnitState.STOPPED})


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something that went wrong with a unit; ``spot`` is None where it is about the whole unit."""

    kind: str
    at: datetime
    spot: Spot | None = None


@dataclass(frozen=True, slots=True)
class Statement:
    """A statement to confirm, the first time it was looked at."""

    spot: Spot
    passed: bool
    at: datetime


@dataclass(frozen=True, slots=True)
class UnitLife:
    """What one unit tells. ``slots`` are those with readings and those worked out from them."""

    unit: Unit
    plan: Plan
    slots: tuple[SlotLife, ...]
    statements: tuple[Statement, ...]
    troubles: tuple[Trouble, ...]


def unit_life(unit: Unit, plan: Plan, entries: Sequence[Entry], weigher: Weigher) -> UnitLife:
    """The unit's life for statistics, from its entries of :data:`KINDS` (more do no harm)."""
    standing = counting(entries)
    spots = planned(plan)
    released = next((one.seq for one in reversed(standing) if one.body.kind == "released"), None)
    stopped = {one.slot for one in standing if isinstance(one.body, Stopped) and one.slot is not None}
    finished = unit.state not in UNFINISHED
    read = tuple(_read(spots, standing, weigher, stopped, released, finished=finished))
    worked = worked_lives(spots, read, weigher)
    return UnitLife(
        unit, plan, (*read, *worked), tuple(_statements(spots, standing)),
        tuple(sorted(_troubles(spots, entries, standing, read), key=lambda one: one.at)),
    )  # fmt: skip


def _by_slot(standing: Sequence[Entry]) -> dict[str, list[Entry]]:
    """Readings and adjustments by slot, in the order in which they were done."""
    found: dict[str, list[Entry]] = {}
    for entry in standing:
        if entry.slot is not None and isinstance(entry.body, Read | Adjusted):
            found.setdefault(entry.slot, []).append(entry)
    for entries in found.values():
        if len(entries) > 1:
            entries.sort(key=lambda one: (one.at, one.seq))
    return found


def _read(
    spots: Planned,
    standing: Sequence[Entry],
    weigher: Weigher,
    stopped: set[str],
    released: int | None,
    *,
    finished: bool,
) -> Iterator[SlotLife]:
    for slot, entries in _by_slot(standing).items():
        spot = spots.spots.get(slot)
        if spot is None or spot.step is None or spot.slot.kind is not SlotKind.READING:
            continue
        limits = spots.limits.get(spot.step.id)
        taken = [_taken(spot, limits, entry, weigher) for entry in entries]
        readings = tuple(one for one in taken if one is not None)
        if readings:
            stands = counts(readings, spot.phase, released, finished=finished)
            trials = tuple(_trials(entries, taken))
            yield SlotLife(spot, limits, readings, stands, trials, slot in stopped)


def _taken(spot: Spot, limits: Limits | None, entry: Entry, weigher: Weigher) -> Taken | None:
    """The reading of an entry; None for an adjustment, and for a reading that cannot be understood."""
    body = entry.body
    if not isinstance(body, Read) or spot.step is None:
        return None
    found = weigher.weigh(spot.step, limits, body, entry.at)
    if found is None:
        return None
    return Taken(*found, entry.at, entry.seq, entry.by, body.gauge, body.as_found)


def _trials(entries: Sequence[Entry], taken: Sequence[Taken | None]) -> Iterator[Trial]:
    for at, entry in enumerate(entries):
        if isinstance(entry.body, Adjusted):
            after = next((one for one in taken[at + 1 :] if one is not None), None)
            yield Trial(entry.body.followed, None if after is None else after.good)


def _statements(spots: Planned, standing: Sequence[Entry]) -> Iterator[Statement]:
    seen: set[str] = set()
    for entry in sorted(standing, key=lambda one: (one.at, one.seq)):
        spot = spots.spots.get(entry.slot or "")
        if isinstance(entry.body, Confirmed) and spot is not None and spot.slot.id not in seen:
            seen.add(spot.slot.id)
            yield Statement(spot, entry.body.yes, entry.at)


def _troubles(
    spots: Planned, entries: Sequence[Entry], standing: Sequence[Entry], read: Sequence[SlotLife]
) -> Iterator[Trouble]:
    """Everything that went wrong, from entries alone: nothing of it is healed by being put right later."""
    for life in read:
        if not life.first.good:
            word = "doubtful" if life.first.state == "doubtful" else "out"
            yield Trouble(f"{word} at the first reading", life.first.at, life.spot)
    counted = {one.seq for one in standing}
    for entry in entries:
        spot = spots.spots.get(entry.slot or "")
        if entry.seq not in counted:
            if entry.body.kind != "struck":
                yield Trouble("struck out", entry.at, spot)
        elif isinstance(entry.body, Confirmed) and not entry.body.yes:
            yield Trouble("found not so", entry.at, spot)
        elif isinstance(entry.body, Stopped):
            yield Trouble("stopped", entry.at, spot)
        elif isinstance(entry.body, Decided) and entry.body.decision == "use_as_is":
            yield Trouble("used as it is", entry.at, _of_stop(spots, standing, entry.body.stop))
        elif entry.body.kind == "complained":
            yield Trouble("complained about", entry.at, spot)


def _of_stop(spots: Planned, standing: Sequence[Entry], stop: int) -> Spot | None:
    slot = next((one.slot for one in standing if one.seq == stop), None)
    return spots.spots.get(slot or "")
