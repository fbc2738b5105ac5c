"""Readings of one check over many units: which count, in which order, against which limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction

from traveler.definition.plan import Plan, where_key
from traveler.measure.limits import Limits
from traveler.measure.quantity import convert, same_dimension
from traveler.trace.stats.proportion import FirstTry
from traveler.trace.stats.unit_readings import (
    AdjustmentTrial,
    SlotReadings,
    UnitReadings,
    check_named,
)
from traveler.verdict.plan_index import PlannedSlot
from traveler.verdict.rows import ReadingRow
from traveler.verdict.state import SlotState

Position = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Point:
    """The reading that counts for one unit. ``value`` is exact, in the series' unit."""

    unit: str
    at: datetime
    seq: int
    value: Fraction
    state: SlotState
    by: str
    gauge: str | None
    revision: str
    variant: str


@dataclass(frozen=True, slots=True)
class FirstLook:
    """How the slot did the first time."""

    unit: str
    at: datetime
    passed: bool


@dataclass(slots=True)
class CheckSeries:
    """Readings that may be looked at together. ``operation``, ``title`` and ``rank`` are of the newest plan.

    ``limits`` are in ``unit``, None where the check has none. ``revisions`` and ``variants`` are those that
    were issued with these limits; ``mark`` names them where the same check and position has other limits
    elsewhere, so that two series are never taken for one.
    """

    check: str
    again: bool
    position: Position
    unit: str
    bounds: tuple[Fraction | None, Fraction | None]
    limits: Limits | None = None
    operation: str = ""
    title: str = ""
    rank: int = 0
    worked: bool = False
    mark: str = ""
    points: list[Point] = field(default_factory=list)
    firsts: list[FirstLook] = field(default_factory=list)
    pairs: list[tuple[Fraction, Fraction]] = field(default_factory=list)
    trials: list[AdjustmentTrial] = field(default_factory=list)
    revisions: set[str] = field(default_factory=set)
    variants: set[str] = field(default_factory=set)

    @property
    def lower(self) -> Fraction | None:
        """The lower limit."""
        return self.bounds[0]

    @property
    def upper(self) -> Fraction | None:
        """The upper limit."""
        return self.bounds[1]

    @property
    def name(self) -> str:
        """The check's id, and that it is a repeat: ``runout (again)``."""
        return f"{self.check} (again)" if self.again else self.check

    @property
    def place(self) -> str:
        """The position as text: ``spindle=3,end=far``; empty for a check at one place."""
        return where_key(self.position)

    @property
    def position_named(self) -> dict[str, str]:
        """The position as a mapping, for JSON."""
        return dict(self.position)

    @property
    def label(self) -> str:
        """Check, position and mark in one line."""
        return " ".join(part for part in (self.name, self.place, self.mark) if part)

    @property
    def limits_text(self) -> str:
        """The limits as a person reads them."""
        return self.limits.describe() if self.limits is not None else "no limits"

    @property
    def values(self) -> tuple[Fraction, ...]:
        """The readings that count, in the order in which they were taken."""
        return tuple(point.value for point in self.points)

    def nearest(self) -> Point | None:
        """The reading worst off: the furthest beyond a limit, or the nearest to one; None without limits."""
        limits = self.limits
        if not self.points or limits is None:
            return None
        return min(self.points, key=lambda point: (limits.margin(point.value), point.at, point.unit))

    @property
    def work_order(self) -> tuple[int, bool, Position, str]:
        """Sorts in the order of the work; one with other limits after the one whose units came first."""
        first = min((point.at.isoformat() for point in self.points), default="")
        return self.rank, self.again, self.position, first


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
class UnitDefect:
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
        self.troubles: list[UnitDefect] = []
        self.units = 0
        self._series: dict[_Key, CheckSeries] = {}
        self._units: dict[tuple[str, bool], list[str]] = {}
        self._newest: dict[int, datetime] = {}
        self._of_slot: dict[tuple[int, str], CheckSeries | None] = {}
        self._plans: dict[int, Plan] = {}
        self._statements: list[FirstTry] = []

    def add(self, life: UnitReadings) -> None:
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
        for trouble in life.troubles:
            check = _named(life, trouble.spot)[0] if trouble.spot is not None else ""
            if self.narrowed.holds(trouble.at) and self.narrowed.check in (None, check):
                self.troubles.append(UnitDefect(life.unit.serial, trouble.kind, trouble.at, check))

    def _series_of(self, life: UnitReadings, slot: SlotReadings) -> CheckSeries | None:
        """The series a slot belongs to, None if it is not looked at; looked up once for each plan."""
        where = (id(life.plan), slot.spot.slot.id)
        if where not in self._of_slot:
            self._of_slot[where] = self._opened(life, slot)
        return self._of_slot[where]

    def _opened(self, life: UnitReadings, slot: SlotReadings) -> CheckSeries | None:
        check, again = _named(life, slot.spot)
        if not self.narrowed.wants(check, slot.spot.slot.position):
            return None
        position = tuple(pair for pair in slot.spot.slot.position if pair[0] != PIECE)
        unit = self._unit(check, again, slot.limits.unit if slot.limits is not None else slot.first.unit)
        limits = _limits_in(slot.limits, unit)
        bounds = (limits.lower, limits.upper) if limits is not None else (None, None)
        key = (check, again, position, unit, bounds)
        if key not in self._series:
            self._series[key] = CheckSeries(check, again, position, unit, bounds, limits)
        return self._series[key]

    def _fill(self, series: CheckSeries, life: UnitReadings, slot: SlotReadings) -> None:
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
            found, left = (convert(value, stands.unit, unit) for value in slot.pair)
            series.pairs.append((found, left))
        series.trials.extend(slot.trials)

    def _unit(self, check: str, again: bool, unit: str) -> str:
        """The unit of measure this check is shown in: the first one met of that dimension."""
        known = self._units.setdefault((check, again), [])
        same = next((text for text in known if text == unit or same_dimension(text, unit)), None)
        if same is None:
            known.append(unit)
        return same or unit

    @staticmethod
    def _name(series: CheckSeries, slot: SlotReadings) -> None:
        spot = slot.spot
        series.limits = _limits_in(slot.limits, series.unit)
        series.operation, series.rank = spot.operation.number, spot.rank
        series.title = spot.step.text if spot.step is not None else spot.slot.label
        series.worked = bool(spot.slot.inputs)

    def series(self) -> tuple[CheckSeries, ...]:
        """Every series with a reading that counts or a first look, in the order of the work, marked."""
        found = [series for series in self._series.values() if series.points or series.firsts]
        places: dict[tuple[str, bool, Position], list[CheckSeries]] = {}
        for series in found:
            series.points.sort(key=lambda point: (point.at, point.unit, point.seq))
            places.setdefault((series.check, series.again, series.position), []).append(series)
        for same in places.values():
            _mark(same)
        return tuple(sorted(found, key=lambda series: series.work_order))

    def tries(self) -> Iterator[FirstTry]:
        """The first tries of all checks and statements, in the order of the work; repeats are not first."""
        for series in self.series():
            for look in () if series.again else series.firsts:
                yield FirstTry(look.unit, series.operation, series.check, look.passed)
        yield from self._statements


def _named(life: UnitReadings, spot: PlannedSlot) -> tuple[str, bool]:
    if spot.step is None:
        return spot.slot.label, False
    return check_named(life.plan, spot.step, spot.slot)


def _limits_in(limits: Limits | None, unit: str) -> Limits | None:
    """The limits in the unit of the series, exact bounds kept."""
    if limits is None or limits.unit == unit:
        return limits
    bounds = (limits.lower, limits.upper)
    low, high = (None if bound is None else convert(bound, limits.unit, unit) for bound in bounds)
    shown = limits.to(unit)
    return Limits(limits.text, low, high, shown.nominal, unit, shown.decimals, limits.source)


def _point(life: UnitReadings, row: ReadingRow, unit: str) -> Point:
    exact = row.value.value
    value = exact if row.unit == unit else convert(exact, row.unit, unit)
    return Point(
        life.unit.serial, row.at, row.entry.seq, value, row.state, row.by, row.gauge, life.unit.revision,
        life.unit.variant,
    )  # fmt: skip


def _mark(same: list[CheckSeries]) -> None:
    """Say whose limits they are, where one check and position has several."""
    if len(same) < 2:
        return
    by_revision = _apart([series.revisions for series in same])
    by_variant = _apart([series.variants for series in same])
    for series in same:
        revision = f"revision {', '.join(sorted(series.revisions))}" if series.revisions else ""
        variant = f"variant {', '.join(sorted(series.variants))}" if series.variants else ""
        told = revision if by_revision else variant if by_variant else f"{revision} {variant}".strip()
        series.mark = f"[{told or series.limits_text}]"


def _apart(sets: list[set[str]]) -> bool:
    """Whether no member is in two of them."""
    return sum(map(len, sets)) == len(set().union(*sets))
