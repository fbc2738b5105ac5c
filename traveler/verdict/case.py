"""One unit before the judge: which entry fills which slot, and what the checks look up."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from functools import cached_property
from typing import Literal, Protocol

from traveler.definition.plan import Plan, Slot, SlotKind
from traveler.finding import Finding, Place
from traveler.record.entry import Draft, Entry, done_order, standing_entries, struck_by
from traveler.shop.gauges import GaugeRegister
from traveler.shop.people import People
from traveler.shop.settings import Settings
from traveler.text import day_in
from traveler.verdict.codes import weigh
from traveler.verdict.plan_index import Phase, PlanIndex, PlannedSlot, plan_index
from traveler.verdict.state import Stop, state_of, stops_of


@dataclass(frozen=True, slots=True)
class LotFact:
    """A lot of parts or material as the store knows it."""

    lot: str
    standing: Literal["usable", "on hold", "scrapped"] = "usable"
    number: str | None = None
    """Part number of the lot, where known."""


@dataclass(frozen=True, slots=True)
class OutsideFacts:
    """Facts from outside the unit's own entries. Each may be left out; then its findings stay silent."""

    fitted_elsewhere: Mapping[tuple[str | None, str], str] = field(default_factory=dict)
    """(part number, part serial) → the other unit it is fitted in."""
    lots: Mapping[str, LotFact] | None = None
    """The lots the shop knows; None: not looked up."""
    stored_digest: str | None = None
    """Digest of the definition as it is stored now under the product and revision."""
    chain: tuple[Finding, ...] = ()
    """What the verification of the unit's chain found; passed on as it is."""


FILLED_BY: dict[SlotKind, str] = {
    SlotKind.TICK: "ticked",
    SlotKind.READING: "read",
    SlotKind.PART: "fitted",
    SlotKind.CONFIRM: "confirmed",
    SlotKind.WITNESS: "witnessed",
    SlotKind.SIGN: "signed",
    SlotKind.PHOTO: "photographed",
    SlotKind.PACKED: "packed",
    SlotKind.COUNT: "counted",
}
"""Kind of slot → the kind of entry that fills it; a worked-out slot is filled by the tool."""


def fills(slot: Slot, entry: Draft) -> bool:
    """Whether this kind of entry fills this kind of slot."""
    return FILLED_BY.get(slot.kind) == entry.body.kind


BESIDE = frozenset(
    {"adjusted", "stopped", "noted", "photographed", "complained", "followed_up", "decided", "struck"}
)
"""Kinds that may name a slot without filling it."""


@dataclass(slots=True)
class SlotEntries:
    """The entries that fill one slot, in the order in which the work was done."""

    planned: PlannedSlot
    entries: list[Entry] = field(default_factory=list)

    @property
    def last(self) -> Entry:
        """The entry done last."""
        return self.entries[-1]


def filled_slots(
    index: PlanIndex, standing: Iterable[Entry], besides: Collection[str] = ()
) -> dict[str, SlotEntries]:
    """Slot → the standing entries that fill it, slots in the order in which they were first written.

    ``besides``: kinds of entries that are listed with them, as the adjustments between readings.
    """
    filled: dict[str, SlotEntries] = {}
    for entry in standing:
        planned = index.slots.get(entry.slot) if entry.slot is not None else None
        if planned is None or not (fills(planned.slot, entry) or entry.body.kind in besides):
            continue
        if (there := filled.get(planned.slot.id)) is None:
            filled[planned.slot.id] = SlotEntries(planned, [entry])
        else:
            there.entries.append(entry)
    for there in filled.values():
        if len(there.entries) > 1:
            there.entries.sort(key=done_order)
    return filled


class Located(Protocol):
    """An entry, or the row of a reading: what a finding may be about."""

    @property
    def slot(self) -> str | None:
        """The slot."""

    @property
    def seq(self) -> int | None:
        """The number of the entry."""


class Case:
    """A unit's plan, entries and surroundings, with the look-ups that the checks share.

    Args:
        unit: The serial.
        plan: The plan the unit was issued with.
        entries: All its entries, in any order.
        gauges: The gauge register.
        people: Everybody who may write.
        settings: The shop's settings.
        now: The present moment, with a zone.
        facts: What the caller looked up elsewhere.
    """

    def __init__(
        self,
        unit: str,
        plan: Plan,
        entries: Sequence[Entry],
        *,
        gauges: GaugeRegister,
        people: People,
        settings: Settings,
        now: datetime,
        facts: OutsideFacts,
    ) -> None:
        self.unit = unit
        self.plan = plan
        self.index: PlanIndex = plan_index(plan)
        self.entries: tuple[Entry, ...] = tuple(sorted(entries, key=lambda entry: entry.seq))
        self.gauges = gauges
        self.people = people
        self.settings = settings
        self.now = now
        self.facts = facts
        self.standing: tuple[Entry, ...] = standing_entries(self.entries)
        self.stops: tuple[Stop, ...] = stops_of(self.standing)
        self.state = state_of(self.standing, self.stops, plan)
        self.filled: dict[str, SlotEntries] = filled_slots(self.index, self.standing)
        self.zone: tzinfo = settings.zone
        self._days: dict[int, date] = {}

    def day(self, moment: datetime) -> date:
        """The calendar day of a moment in the shop."""
        return day_in(self.zone, moment)

    def day_of(self, entry: Entry) -> date:
        """The calendar day, in the shop, on which the entry's work was done."""
        found = self._days.get(entry.seq)
        if found is None:
            found = self._days[entry.seq] = day_in(self.zone, entry.at)
        return found

    def finding(
        self,
        code: str,
        what: str,
        *,
        about: Located | None = None,
        slot: str | None = None,
        entry: int | None = None,
        hint: str = "",
    ) -> Finding:
        """A finding about this unit with the weight it has in this shop; ``about``: at an entry or a row."""
        place = Place(unit=self.unit, slot=slot, entry=entry)
        if about is not None:
            place = Place(unit=self.unit, slot=about.slot, entry=about.seq)
        return Finding(code, what, place, weigh(code, self.settings), hint=hint)

    def of_kind(self, kind: str) -> list[Entry]:
        """The entries of one kind that count, in the order of their numbers."""
        return self.by_kind.get(kind, [])

    @cached_property
    def by_kind(self) -> dict[str, list[Entry]]:
        """Kind → the entries of it that count."""
        kinds: dict[str, list[Entry]] = {}
        for entry in self.standing:
            kinds.setdefault(entry.body.kind, []).append(entry)
        return kinds

    @cached_property
    def _by_slot_kind(self) -> dict[SlotKind, list[tuple[str, SlotEntries]]]:
        kinds: dict[SlotKind, list[tuple[str, SlotEntries]]] = {}
        for slot, filled in self.filled.items():
            kinds.setdefault(filled.planned.slot.kind, []).append((slot, filled))
        return kinds

    def filled_of(self, kind: SlotKind) -> list[tuple[str, SlotEntries]]:
        """The written slots of one kind, in the order in which they were first written."""
        return self._by_slot_kind.get(kind, [])

    @cached_property
    def builders(self) -> frozenset[str]:
        """Who signed a build operation of this unit."""
        return builders(self.entries, self.index)

    @cached_property
    def released(self) -> Entry | None:
        """The release that counts last, if any."""
        return next(iter(reversed(self.of_kind("released"))), None)

    def concession(self, slot: str, seq: int) -> Stop | None:
        """The stop whose concession accepts what entry ``seq`` says of the slot, if there is one."""
        return next((stop for stop in self.stops if stop.covers(slot, seq)), None)


def check_not_ahead(case: Case, done: str, at: datetime) -> Iterator[Finding]:
    """SEQ005, where what is to be done now (``released``) is dated in the future."""
    if at > case.now + case.settings.clock_slack:
        what = f"to be {done} at {moment_text(case, at)}, and now it is {moment_text(case, case.now)}"
        yield case.finding("SEQ005", what, hint=f"give the time at which it is {done}")


def moment_text(case: Case, moment: datetime) -> str:
    """Day and minute on the shop's clock."""
    return f"{case.day(moment)} {moment.astimezone(case.zone):%H:%M}"


def builders(entries: Sequence[Entry], plan: PlanIndex) -> frozenset[str]:
    """Who signed a build operation: signatures that stand, and those that the signer struck out.

    Nobody becomes independent of their own work by striking out their own signature; where somebody else
    struck it out, it was not theirs.
    """
    struck, author = struck_by(entries), {entry.seq: entry.by for entry in entries}
    signed = (
        entry for entry in entries if entry.body.kind == "signed" and plan.phase(entry.slot) is Phase.BUILD
    )
    return frozenset(
        entry.by for entry in signed if entry.seq not in struck or author[struck[entry.seq]] == entry.by
    )


_LISTED = 6


def listed_slots(slots: Sequence[str], *, total: int | None = None) -> str:
    """Slots in one line, by step: ``30-2 (spindle=1,end=near; spindle=1,end=far)``; long lists are cut.

    ``total``: how many slots the only step has; when all of them are meant, they are counted, not listed.
    """
    by_step: dict[str, list[str]] = {}
    for slot in dict.fromkeys(slots):
        step, _, position = slot.partition("/")
        by_step.setdefault(step, []).append(position)
    parts = [
        _step(step, positions, total if len(by_step) == 1 else None) for step, positions in by_step.items()
    ]
    return _cut(parts, ", ")


def _step(step: str, positions: list[str], total: int | None) -> str:
    named = [position for position in positions if position]
    if not named:
        return step
    if total is not None and len(named) == total > 1:
        return f"{step} (all {total} positions)"
    return f"{step} ({_cut(named, '; ')})"


def _cut(parts: list[str], between: str) -> str:
    if len(parts) <= _LISTED:
        return between.join(parts)
    return f"{between.join(parts[: _LISTED - 1])}{between}and {len(parts) - _LISTED + 1} more"


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong, before it is known where: code, sentence, hint."""

    code: str
    what: str
    hint: str = ""


@dataclass(slots=True)
class Problems:
    """Problems with the slots and entries they were met at."""

    met: dict[Problem, list[tuple[str | None, int | None]]] = field(default_factory=dict)

    def add(self, problem: Problem, slot: str | None, entry: int | None) -> None:
        """The problem was met once more."""
        self.met.setdefault(problem, []).append((slot, entry))

    def slots(self, codes: Iterable[str]) -> set[str]:
        """The slots at which problems of these codes were met."""
        wanted = frozenset(codes)
        return {slot for problem, at in self.met.items() if problem.code in wanted for slot, _ in at if slot}

    def findings(self, case: Case) -> Iterator[Finding]:
        """One finding per problem, at the first place where it was met, listing the others."""
        for problem, met in self.met.items():
            slot, entry = met[0]
            named = [text for text, _ in met if text is not None]
            where = f" (at {listed_slots(named)})" if len(set(named)) > 1 else ""
            if not named and len(met) > 1:
                where = f" (entries {_cut([f'#{seq}' for _, seq in met], ', ')})"
            yield case.finding(problem.code, problem.what + where, slot=slot, entry=entry, hint=problem.hint)
