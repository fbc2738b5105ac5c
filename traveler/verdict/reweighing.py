"""What the slots of a unit would be with other readings: by the same rules, limits and workings.

Asked when a gauge turns out to have shown something else than was there. A reading that decides nothing
(struck out, read again) decides nothing afterwards either; a worked-out value is worked out anew, so an
offset that all its readings share may cancel.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from traveler.measure.limits import Limits
from traveler.measure.number import exact_text
from traveler.measure.quantity import Quantity
from traveler.record.entry import Entry, Read
from traveler.verdict.case import Case
from traveler.verdict.deciding import DecidingReading, judge_readings, work_out_slots
from traveler.verdict.rules.readings import amount, excess_of
from traveler.verdict.state import SlotState

RANK = {SlotState.IN: 0, SlotState.DONE: 0, SlotState.DOUBTFUL: 1, SlotState.OUT: 2}
"""How bad a weighed slot is."""


@dataclass(frozen=True, slots=True)
class Reweighed:
    """A slot before and after. ``after`` is None where the value cannot be worked out any more.

    ``worked``: the value is worked out from readings. ``concession``: the deviation was accepted in writing,
    for what was thought to be there.
    """

    slot: str
    label: str
    entry: int | None
    before: SlotState
    after: SlotState | None
    was: str
    now: str
    unit: str
    limits: str | None
    acceptance: str | None
    beyond: str | None
    """How far out the value is now, with unit and side; None where it is not out."""
    concession: str | None = None
    worked: bool = False

    @property
    def fails(self) -> bool:
        """Whether it was accepted more readily than it should have been."""
        return self.after is None or RANK[self.after] > RANK[self.before]

    @property
    def clears(self) -> bool:
        """Whether it is better than it was thought to be."""
        return self.after is not None and RANK[self.after] < RANK[self.before]


def reweigh(case: Case, instead: Mapping[int, Quantity]) -> tuple[Reweighed, ...]:
    """Every slot with limits that one of the readings decides on, directly or through a working.

    Args:
        case: The unit as it stands in the records.
        instead: Number of an entry → what the reading in it is worth.

    Returns:
        The slots in the order of the plan; those that no reading of ``instead`` rules in are not among them.
    """
    before = weighed(case)
    after = weighed(with_readings(case, instead))
    ruled = {slot for slot, entry in before.items() if entry.entry is not None and entry.seq in instead}
    found = []
    for slot, spot in case.planned.spots.items():
        was = before.get(slot)
        if was is not None and (slot in ruled or not ruled.isdisjoint(spot.slot.inputs)):
            found.append(_compared(case, spot.slot.label, was, after.get(slot)))
    return tuple(found)


def weighed(case: Case) -> dict[str, DecidingReading]:
    """Slot → the reading or worked-out value that stands in it, weighed."""
    read = judge_readings(case).rulings
    return {**read, **work_out_slots(case, read)[0]}


def with_readings(case: Case, instead: Mapping[int, Quantity]) -> Case:
    """The same unit with these readings in place of what was read."""
    return Case(
        case.unit, case.plan, tuple(_with(case.entries, instead)),
        gauges=case.gauges, people=case.people, settings=case.settings, now=case.now, facts=case.facts,
    )  # fmt: skip


def _with(entries: tuple[Entry, ...], instead: Mapping[int, Quantity]) -> Iterator[Entry]:
    for entry in entries:
        other = instead.get(entry.seq)
        if other is None or not isinstance(entry.body, Read):
            yield entry
            continue
        value = exact_text(other.value, other.decimals)
        body = entry.body.model_copy(update={"value": value, "unit": other.unit})
        yield entry.model_copy(update={"body": body})


def _compared(case: Case, label: str, was: DecidingReading, now: DecidingReading | None) -> Reweighed:
    stop = case.concession(was.slot, was.seq or was.latest)
    consent = stop.decision.concession if stop is not None and stop.decision is not None else None
    limits = was.limits
    return Reweighed(
        slot=was.slot, label=label, entry=was.seq, before=was.state,
        after=now.state if now is not None else None,
        was=was.weighed.text, now=now.weighed.text if now is not None else "", unit=was.value.unit,
        limits=limits.text if limits is not None else None, acceptance=was.weighed.acceptance,
        beyond=beyond(limits, now.value.value) if now is not None and limits is not None else None,
        concession=consent, worked=was.entry is None,
    )  # fmt: skip


def beyond(limits: Limits, value: Fraction) -> str | None:
    """How far a value lies outside the limits, as ``0.012 mm over``; None inside."""
    excess = excess_of(limits, value)
    if not excess:
        return None
    return f"{amount(limits, abs(excess))} {limits.unit} {'over' if excess > 0 else 'under'}"
