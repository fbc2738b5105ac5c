"""Collecting the lives of units into series: like with like, and never two pairs of limits in one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction

from traveler.definition.plan import Plan
from traveler.measure.bounds import in_unit
from traveler.measure.limits import Limits
from traveler.measure.quantity import same_dimension
from traveler.measure.units import convert
from traveler.trace.series.series import FirstLook, Point, Position, Series, in_order
from traveler.trace.series.slot_life import SlotLife, Taken, check_named
from traveler.trace.series.unit_life import UnitLife
from traveler.trace.statistics.yields import FirstTry
from traveler.verdict.planned import Spot

PIECE = "piece"
"""The position of a lot's pieces: they are made alike, one after the other, and belong in one series."""

_Key = tuple[str, bool, Position, str, tuple[Fraction | None, Fraction | None]]


@dataclass(frozen=True, slots=True)
class Narrowed:
    """What is looked at: from and until which moment (both included), which check, which positions."""

    since: datetime | None = None
    until: datetime | None = None
    check: str | None = None
    position: Mapping[str, str] = field(default_factory=dict)

    def holds(self, at: datetime) -> bool:
        """Whether something done at that moment is looked at."""
        return (self.since is None or at >= self.since) and (self.until is None or at <= self.until)

    def wants(self, check: str, position: Position) -> bool:
        """Whether a slot of this check at this position is looked at."""
        if self.check is not None and check != self.check:
            return False
        return set(self.position.items()) <= set(position)


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something that went wrong with a unit, told by check, or by statement, or about the whole unit."""

    unit: str
    kind: str
    at: datetime
    check: str = ""

    @property
    def name(self) -> str:
        """``runout: out at the first reading``."""
        return f"{self.check}: {self.kind}" if self.check else f"whole unit: {self.kind}"


class Collector:
    """Takes one unit's life after the other; :meth:`series` and :meth:`tries` give what was collected."""

    def __init__(self, narrowed: Narrowed) -> None:
        self.narrowed = narrowed
        self.troubles: list[Trouble] = []
        self.units = 0
        self._series: dict[_Key, Series] = {}
        self._units: dict[tuple[str, bool], list[str]] = {}
        self._newest: dict[int, datetime] = {}
        self._of_slot: dict[tuple[int, str], Series | None] = {}
        self._plans: dict[int, Plan] = {}
        self._statements: list[FirstTry] = []

    def add(self, life: UnitLife) -> None:
        """Take in what one unit tells."""
        self.units += 1
        self._plans[id(life.plan)] = life.plan  # held, so that no other plan gets its id
        for slot in life.slots:
            series = self._series_of(life, slot)
            if series is not None:
                if id(series) not in self._newest or life.unit.issued >= self._newest[id(series)]:
                    self._newest[id(series)] = life.unit.issued
                    self._name(series, slot)
                self._fill(series, life, slot)
        for said in life.statements:
            check, again = _named(life, said.spot)
            wanted = self.narrowed.wants(check, said.spot.slot.position)
            if wanted and not again and self.narrowed.holds(said.at):
                number = said.spot.operation.number
                self._statements.append(FirstTry(life.unit.serial, number, check, said.passed))
        for one in life.troubles:
            check = _named(life, one.spot)[0] if one.spot is not None else ""
            if self.narrowed.holds(one.at) and self.narrowed.check in (None, check):
                self.troubles.append(Trouble(life.unit.serial, one.kind, one.at, check))

    def _series_of(self, life: UnitLife, slot: SlotLife) -> Series | None:
        """The series a slot belongs to, None if it is not looked at; looked up once for each plan."""
        where = (id(life.plan), slot.spot.slot.id)
        if where not in self._of_slot:
            self._of_slot[where] = self._opened(life, slot)
        return self._of_slot[where]

    def _opened(self, life: UnitLife, slot: SlotLife) -> Series | None:
        check, again = _named(life, slot.spot)
        if not self.narrowed.wants(check, slot.spot.slot.position):
            return None
        position = tuple(pair for pair in slot.spot.slot.position if pair[0] != PIECE)
        unit = self._unit(check, again, slot.limits.unit if slot.limits is not None else slot.first.unit)
        limits = _limits_in(slot.limits, unit)
        bounds = (limits.lower, limits.upper) if limits is not None else (None, None)
        key = (check, again, position, unit, bounds)
        if key not in self._series:
            self._series[key] = Series(check, again, position, unit, bounds, limits)
        return self._series[key]

    def _fill(self, series: Series, life: UnitLife, slot: SlotLife) -> None:
        serial, unit = life.unit.serial, series.unit
        if self.narrowed.holds(slot.first.at):
            series.firsts.append(FirstLook(serial, slot.first.at, slot.passed))
        stands = slot.stands
        if stands is None or not self.narrowed.holds(stands.at):
            return
        series.points.append(_point(life, stands, unit))
        series.revisions.add(life.unit.revision)
        series.variants.add(life.unit.variant)
        if slot.pair is not None:
            found, left = (convert(one, stands.unit, unit) for one in slot.pair)
            series.pairs.append((found, left))
        series.trials.extend(slot.trials)

    def _unit(self, check: str, again: bool, unit: str) -> str:
        """The unit this check is told in: the first one met of that dimension."""
        known = self._units.setdefault((check, again), [])
        same = next((one for one in known if one == unit or same_dimension(one, unit)), None)
        if same is None:
            known.append(unit)
        return same or unit

    @staticmethod
    def _name(series: Series, slot: SlotLife) -> None:
        spot = slot.spot
        series.limits = _limits_in(slot.limits, series.unit)
        series.operation, series.rank = spot.operation.number, spot.rank
        series.title = spot.step.text if spot.step is not None else spot.slot.label
        series.worked = bool(spot.slot.inputs)

    def series(self) -> tuple[Series, ...]:
        """Every series with a reading that counts or a first look, in the order of the work, marked."""
        found = [one for one in self._series.values() if one.points or one.firsts]
        for one in found:
            one.points.sort(key=lambda point: (point.at, point.unit, point.seq))
        for same in _same_place(found):
            _mark(same)
        return in_order(found)

    def tries(self) -> Iterator[FirstTry]:
        """The first tries of all checks and statements, in the order of the work; repeats are not first."""
        for one in self.series():
            if not one.again:
                yield from (FirstTry(look.unit, one.operation, one.check, look.passed) for look in one.firsts)
        yield from self._statements


def _named(life: UnitLife, spot: Spot) -> tuple[str, bool]:
    if spot.step is None:
        return spot.slot.label, False
    return check_named(life.plan, spot.step, spot.slot)


def _limits_in(limits: Limits | None, unit: str) -> Limits | None:
    """The limits in the unit of the series, exact bounds kept."""
    if limits is None or limits.unit == unit:
        return limits
    bounds = (limits.lower, limits.upper)
    low, high = (None if one is None else convert(one, limits.unit, unit) for one in bounds)
    shown = in_unit(limits, unit)
    return Limits(limits.text, low, high, shown.nominal, unit, shown.decimals, limits.source)


def _point(life: UnitLife, taken: Taken, unit: str) -> Point:
    value = taken.value if taken.unit == unit else convert(taken.value, taken.unit, unit)
    return Point(
        life.unit.serial, taken.at, taken.seq, value, taken.state, taken.by, taken.gauge, life.unit.revision,
        life.unit.variant,
    )  # fmt: skip


def _same_place(series: list[Series]) -> list[list[Series]]:
    places: dict[tuple[str, bool, Position], list[Series]] = {}
    for one in series:
        places.setdefault((one.check, one.again, one.position), []).append(one)
    return list(places.values())


def _mark(same: list[Series]) -> None:
    """Say whose limits they are, where one check and position has several."""
    if len(same) < 2:
        return
    revisions_tell = _apart([one.revisions for one in same])
    for one in same:
        told = f"revision {', '.join(sorted(one.revisions))}" if one.revisions else ""
        if not revisions_tell:
            kinds = f"variant {', '.join(sorted(one.variants))}" if one.variants else ""
            told = kinds if _apart([other.variants for other in same]) else f"{told} {kinds}".strip()
        one.mark = f"[{told or one.limits_text}]"


def _apart(sets: list[set[str]]) -> bool:
    """Whether no member is in two of them."""
    return sum(map(len, sets)) == len(set().union(*sets))
