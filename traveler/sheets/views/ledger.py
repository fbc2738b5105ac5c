"""The entries of a unit, looked up the way a printed record needs them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import datetime
from zoneinfo import ZoneInfo

from traveler.definition.plan import Plan, Slot, Step, StepKind
from traveler.record.entry import Entry, Read, Struck, recorded_late, standing_entries, struck_by
from traveler.sheets.words import Words
from traveler.shop.people import People
from traveler.shop.settings import Settings
from traveler.verdict.case import filled_slots
from traveler.verdict.judge import SlotVerdict, Verdict
from traveler.verdict.plan_index import plan_index
from traveler.verdict.state import SlotState, Stop, stops_of

UNIT_EVENTS = frozenset(
    {"issued", "released", "crated", "placed", "shipped", "reprinted", "complained", "followed_up"}
)
"""Kinds of entries that concern the unit as a whole."""


class Ledger:
    """One unit's plan, entries and verdict.

    ``struck``: seq of a struck entry → the entry that struck it. ``filling``: slot → the standing entries
    that fill it, by when the work was done. ``shown``: the entries that a box shows.
    """

    def __init__(
        self,
        plan: Plan,
        entries: Iterable[Entry],
        verdict: Verdict,
        settings: Settings,
        people: People,
        say: Words,
    ) -> None:
        self.plan, self.verdict, self.people, self.say = plan, verdict, people, say
        self.entries = tuple(sorted(entries, key=lambda entry: entry.seq))
        self.zone = ZoneInfo(settings.time_zone)
        self.standing = standing_entries(self.entries)
        by_seq = {entry.seq: entry for entry in self.entries}
        self.struck = {seq: by_seq[by] for seq, by in struck_by(self.entries).items()}
        self.stops: tuple[Stop, ...] = stops_of(self.standing)
        filled = filled_slots(plan_index(plan), self.standing)
        self.filling = {slot: there.entries for slot, there in filled.items()}
        self.shown: set[int] = set()
        self._by_slot: dict[str, list[Entry]] = {}
        for entry in self.entries:
            self._by_slot.setdefault(entry.slot or "", []).append(entry)
        self._late_after = settings.late_after_hours

    def judged(self, slot: str) -> SlotVerdict:
        """What the verdict says of a slot; open where it says nothing."""
        return self.verdict.slots.get(slot) or SlotVerdict(slot, SlotState.OPEN)

    def value(self, slot: Slot) -> Entry | None:
        """The entry that counts in a slot: the one the verdict names, else the last one done."""
        there = self.filling.get(slot.id, [])
        named = self.judged(slot.id).entry
        return next((entry for entry in there if entry.seq == named), there[-1] if there else None)

    def found(self, slot: Slot) -> Entry | None:
        """The first reading of a slot that was taken before an adjustment."""
        there = self.filling.get(slot.id, [])
        return next((entry for entry in there if isinstance(entry.body, Read) and entry.body.as_found), None)

    def of_step(self, step: Step) -> list[Entry]:
        """The standing entries that fill the slots of a step, as far as a box shows them."""
        there = (entry for slot in step.slots for entry in self.filling.get(slot.id, ()))
        return [entry for entry in there if entry.seq in self.shown]

    def at_slot(self, slot: str) -> Iterator[Entry]:
        """Every entry about a slot, struck or not, strike-outs themselves left out."""
        return (entry for entry in self._by_slot.get(slot, ()) if not isinstance(entry.body, Struck))

    def late(self, entry: Entry) -> bool:
        """Whether the entry was recorded longer after the work than the shop calls prompt."""
        return recorded_late(entry, self._late_after) is not None

    def time(self, moment: datetime) -> str:
        """Day and minute in the shop's zone: ``2026-11-26 23:30``."""
        return moment.astimezone(self.zone).strftime("%Y-%m-%d %H:%M")

    def name(self, person: str) -> str:
        """The name of a person, or the id where nobody of that id is known."""
        known = self.people.get(person)
        return known.name if known else person

    def usual_person(self, step: Step) -> str:
        """Who wrote most of a step; empty where nobody did."""
        return most(entry.by for entry in self.of_step(step))

    def usual_gauge(self, step: Step) -> str:
        """The gauge that most of a step was read with; empty where none is named."""
        return most(entry.body.gauge or "" for entry in self.of_step(step) if isinstance(entry.body, Read))

    def conceded(self, slot: str, seq: int) -> bool:
        """Whether a concession accepts what the entry says of the slot."""
        return any(stop.covers(slot, seq) for stop in self.stops)

    def adjustable(self, slot: str) -> bool:
        """Whether the sheet has a box for a reading as found."""
        step = self.plan.step_of.get(slot)
        return step is not None and step.kind is StepKind.MEASURE and step.adjust is not None


def most(values: Iterable[str]) -> str:
    """The most frequent value, the first of equals; empty where there is none."""
    counted = Counter(value for value in values if value)
    return counted.most_common(1)[0][0] if counted else ""
