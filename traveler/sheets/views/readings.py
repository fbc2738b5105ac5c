"""What a certificate shows of each slot: the value that counts, by whom, and with which gauge."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from traveler.definition.plan import Slot, Step, StepKind
from traveler.record.entry import Entry, Fitted, Read, Released, standing_entries
from traveler.sheets.views.limits import padded
from traveler.shop.people import People
from traveler.text import day_in
from traveler.verdict.judge import Verdict
from traveler.verdict.state import SlotState


@dataclass(frozen=True, slots=True)
class RecordedValue:
    """The entry that counts in one slot, in words. ``day`` is ISO 8601."""

    value: str
    state: SlotState
    by: str
    gauge: str
    day: str


@dataclass(frozen=True, slots=True)
class RecordView:
    """The record of one unit seen through its verdict."""

    verdict: Verdict
    entries: dict[int, Entry]
    released: Entry | None
    people: People
    zone: ZoneInfo

    def day(self, entry: Entry) -> str:
        """The day an entry was done, in the shop's zone, ISO 8601."""
        return day_in(self.zone, entry.at).isoformat()

    def slot(self, slot: Slot, decimals: int = 0) -> RecordedValue | None:
        """What stands in a slot, or None where it is open."""
        judged = self.verdict.slots.get(slot.id)
        if judged is None or judged.state is SlotState.OPEN:
            return None
        entry = self.entries.get(judged.entry) if judged.entry is not None else None
        body = entry.body if entry else None
        value = judged.value or ""
        if isinstance(body, Fitted):
            value = body.value
        elif value:
            value = padded(value, decimals)
        return RecordedValue(
            value=value,
            state=judged.state,
            by=entry.by if entry else "",
            gauge=body.gauge or "" if isinstance(body, Read) else "",
            day=self.day(entry) if entry else "",
        )

    def step(self, step: Step) -> tuple[RecordedValue, ...]:
        """What stands in the slots of a step that are filled."""
        decimals = step.limits.decimals if step.limits else 0
        return tuple(
            recorded_value for slot in step.slots if (recorded_value := self.slot(slot, decimals)) is not None
        )

    def name(self, person: str) -> str:
        """The name of a person, or the id where nobody of that id is known."""
        known = self.people.get(person)
        return known.name if known else person


def record_view(
    verdict: Verdict, entries: Iterable[Entry], people: People | None = None, time_zone: str = "UTC"
) -> RecordView:
    """The record of a unit, with the release that stands (the last one), if any."""
    kept = tuple(entries)
    stand = standing_entries(kept)
    released = next((entry for entry in reversed(stand) if isinstance(entry.body, Released)), None)
    return RecordView(
        verdict, {entry.seq: entry for entry in kept}, released, people or People(), ZoneInfo(time_zone)
    )


CHECKED = frozenset({StepKind.MEASURE, StepKind.WORK_OUT})
STATED = frozenset({StepKind.CONFIRM, StepKind.WITNESS})
