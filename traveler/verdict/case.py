"""One unit before the judge: everything the checks read, gathered once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from functools import cached_property, lru_cache
from zoneinfo import ZoneInfo

from traveler.definition.plan import Plan, SlotKind
from traveler.finding import Finding, Place
from traveler.record.entry import Entry, Struck
from traveler.shop.gauges import GaugeRegister
from traveler.shop.people import People
from traveler.shop.settings import Settings
from traveler.verdict.codes import CODES, weigh
from traveler.verdict.counting import counting
from traveler.verdict.facts import Facts
from traveler.verdict.planned import Phase, Planned, Spot, planned
from traveler.verdict.state import state_of
from traveler.verdict.stops import Stop, stops_of

FITS: dict[SlotKind, str] = {
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

BESIDE = frozenset(
    {"adjusted", "stopped", "noted", "photographed", "complained", "followed_up", "decided", "struck"}
)
"""Kinds that may name a slot without filling it."""


@lru_cache(maxsize=16)
def zone(name: str) -> tzinfo:
    """The shop's time zone; UTC where the system does not know the name."""
    try:
        return ZoneInfo(name)
    except (ValueError, OSError, KeyError):
        return ZoneInfo("UTC")


@dataclass(slots=True)
class Filled:
    """The entries that fill one slot, in the order in which the work was done."""

    spot: Spot
    entries: list[Entry] = field(default_factory=list)

    @property
    def last(self) -> Entry:
        """The entry done last."""
        return self.entries[-1]


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
        facts: Facts,
    ) -> None:
        self.unit = unit
        self.plan = plan
        self.planned: Planned = planned(plan)
        self.entries: tuple[Entry, ...] = tuple(sorted(entries, key=lambda one: one.seq))
        self.gauges = gauges
        self.people = people
        self.settings = settings
        self.now = now
        self.facts = facts
        self.standing: tuple[Entry, ...] = counting(self.entries)
        self.stops: tuple[Stop, ...] = stops_of(self.standing)
        self.state = state_of(self.standing, self.stops, plan)
        self.filled: dict[str, Filled] = self._fill()
        self.zone: tzinfo = zone(settings.time_zone)
        self._days: dict[int, date] = {}

    def _fill(self) -> dict[str, Filled]:
        filled: dict[str, Filled] = {}
        spots = self.planned.spots
        for entry in self.standing:
            spot = spots.get(entry.slot) if entry.slot is not None else None
            if spot is None or FITS.get(spot.slot.kind) != entry.body.kind:
                continue
            if (there := filled.get(spot.slot.id)) is None:
                filled[spot.slot.id] = Filled(spot, [entry])
            else:
                there.entries.append(entry)
        for there in filled.values():
            if len(there.entries) > 1:
                there.entries.sort(key=lambda one: (one.at, one.seq))
        return filled

    def day(self, moment: datetime) -> date:
        """The calendar day of a moment in the shop."""
        return moment.astimezone(self.zone).date()

    def day_of(self, entry: Entry) -> date:
        """The calendar day, in the shop, on which the entry's work was done."""
        found = self._days.get(entry.seq)
        if found is None:
            found = self._days[entry.seq] = entry.at.astimezone(self.zone).date()
        return found

    def say(
        self, code: str, what: str, *, slot: str | None = None, entry: int | None = None, hint: str = ""
    ) -> Finding:
        """A finding about this unit with the weight it has in this shop."""
        place = Place(unit=self.unit, slot=slot, entry=entry)
        return Finding(code, what, place, weigh(code, self.settings), CODES[code].why, hint)

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
    def _by_slot_kind(self) -> dict[SlotKind, list[tuple[str, Filled]]]:
        kinds: dict[SlotKind, list[tuple[str, Filled]]] = {}
        for slot, filled in self.filled.items():
            kinds.setdefault(filled.spot.slot.kind, []).append((slot, filled))
        return kinds

    def filled_of(self, kind: SlotKind) -> list[tuple[str, Filled]]:
        """The written slots of one kind, in the order in which they were first written."""
        return self._by_slot_kind.get(kind, [])

    @cached_property
    def builders(self) -> frozenset[str]:
        """Who signed a build operation of this unit."""
        return builders(self.entries, self.standing, self.planned)

    @cached_property
    def released(self) -> Entry | None:
        """The release that counts last, if any."""
        return next(iter(reversed(self.of_kind("released"))), None)

    def concession(self, slot: str, seq: int) -> Stop | None:
        """The stop whose concession accepts what entry ``seq`` says of the slot, if there is one."""
        return next((stop for stop in self.stops if stop.covers(slot, seq)), None)


def builders(entries: Sequence[Entry], standing: Sequence[Entry], plan: Planned) -> frozenset[str]:
    """Who signed a build operation: signatures that stand, and those that the signer struck out.

    Nobody becomes independent of their own work by striking out their own signature; where somebody else
    struck it out, it was not theirs.
    """
    struck_by = {one.body.strikes: one.by for one in standing if isinstance(one.body, Struck)}
    counted = {one.seq for one in standing}
    signed = (one for one in entries if one.body.kind == "signed" and plan.phase(one.slot) is Phase.BUILD)
    return frozenset(one.by for one in signed if one.seq in counted or struck_by.get(one.seq) == one.by)
