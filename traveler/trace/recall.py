"""Recall of a gauge: the readings since it was last good, judged again without its error."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from itertools import groupby
from typing import Any

from sqlalchemy import select

from traveler.definition.plan import Plan
from traveler.finding import CannotDo, Finding, Place, Weight
from traveler.measure.gauge_error import FoundError, corrected, parse_error
from traveler.measure.number import Unreadable, format_number
from traveler.measure.quantity import Quantity
from traveler.record import tables
from traveler.record.entry import Entry, Read, struck_by
from traveler.record.errors import StoreDamaged
from traveler.record.plans import Plans
from traveler.record.records import Records, Unit
from traveler.record.stored import StoredRow, to_entry
from traveler.shop.gauges import Calibration, Gauge
from traveler.shop.session import Session
from traveler.trace.history import whereabouts
from traveler.trace.queries import Progress, no_progress, read_with
from traveler.trace.where_used import units_with
from traveler.verdict.case import Case, OutsideFacts
from traveler.verdict.deciding import DecidingReadings, Reweighed, deciding_readings, reweigh
from traveler.verdict.plan_index import plan_index
from traveler.verdict.rows import Unfit, understood

NEEDED = ("issued", "read", "struck", "stopped", "decided", "placed", "shipped")
"""The kinds of entries that a recall looks at; whatever else was written about the unit is not read."""

AT_ONCE = 100
"""Units looked at together."""

READ_AGAIN, AS_FOUND = "read again in", "as found; as left it is"
"""First words of the reason why a reading does not decide; the number of the entry that decides follows."""


@dataclass(frozen=True, slots=True)
class RecalledReading:
    """One reading made with the gauge.

    ``worth`` is the reading with the error taken off, with its unit; None where ``problem`` says why not.
    ``idle`` says why it decides nothing (struck out, read again, not understood), empty where it decides.
    ``result`` is its slot before and after, for a reading that decides.
    """

    entry: Entry
    label: str
    written: str
    worth: str | None
    idle: str = ""
    problem: str = ""
    result: Reweighed | None = None


@dataclass(frozen=True, slots=True)
class RecalledUnit:
    """A unit, where it is now, its readings in the order of its entries, and what was worked out from them.

    ``shipped``: it left, stopped afterwards or not. ``fitted_in``: for a lot or a part that fails, the
    units it was fitted in.
    """

    unit: Unit
    where: str
    shipped: bool
    readings: tuple[RecalledReading, ...]
    worked: tuple[Reweighed, ...] = ()
    fitted_in: tuple[str, ...] = ()

    @property
    def results(self) -> tuple[Reweighed, ...]:
        """Every slot that was weighed again, worked-out ones last."""
        return (*(reading.result for reading in self.readings if reading.result is not None), *self.worked)

    @property
    def failing(self) -> tuple[Reweighed, ...]:
        """The slots that would not have been accepted, or less readily."""
        return tuple(reweighing for reweighing in self.results if reweighing.fails)

    @property
    def clearing(self) -> tuple[Reweighed, ...]:
        """The slots that were better than they were thought to be."""
        return tuple(reweighing for reweighing in self.results if reweighing.clears)


@dataclass(frozen=True, slots=True)
class Recall:
    """The answer: every unit with a reading made with the gauge from ``since`` (None: ever) until ``until``.

    Units with a slot that fails come first, then by serial. ``basis`` says in words why it begins there.
    """

    gauge: str
    error: FoundError
    since: datetime | None
    until: datetime
    basis: str
    units: tuple[RecalledUnit, ...]

    @property
    def affected(self) -> tuple[RecalledUnit, ...]:
        """The units with a slot that would not have been accepted."""
        return tuple(unit for unit in self.units if unit.failing)

    def counts(self) -> dict[str, int]:
        """The answer in numbers."""
        readings = [reading for unit in self.units for reading in unit.readings]
        return {
            "units": len(self.units),
            "readings": len(readings),
            "deciding": sum(recalled_reading.result is not None for recalled_reading in readings),
            "struck": sum(recalled_reading.idle.startswith("struck") for recalled_reading in readings),
            "read_again": sum(
                recalled_reading.idle.startswith((READ_AGAIN, AS_FOUND)) for recalled_reading in readings
            ),
            "not_corrected": sum(bool(recalled_reading.problem) for recalled_reading in readings),
            "slots_failing": sum(len(unit.failing) for unit in self.units),
            "slots_clearing": sum(len(unit.clearing) for unit in self.units),
            "units_affected": len(self.affected),
            "units_affected_shipped": sum(recalled_unit.shipped for recalled_unit in self.affected),
        }


@dataclass(frozen=True, slots=True)
class RecallRequest:
    """Which gauge; its error (None: as its register says); the first and the last day (None: found out)."""

    gauge: str
    error: str | None = None
    since: date | None = None
    until: date | None = None


@dataclass(frozen=True, slots=True)
class Span:
    """The days in question, both included. ``since`` is None where nothing shows that it was ever good."""

    since: date | None
    until: date
    basis: str
    found_by: Calibration | None = None


def recall(session: Session, asked: RecallRequest, progress: Progress = no_progress) -> Recall:
    """What the error does to every unit read with the gauge; nothing is written.

    Limits and rules are those each unit was issued with, uncertainties those of the register on the day.

    Raises:
        CannotDo: no such gauge; an error that cannot be read, or none given and none in the register; the
            first day is after the last day.
        StoreDamaged: entries cannot be read any more.
    """
    gauge = session.shop.gauges.named(asked.gauge)
    span = span_of(gauge, session.today, asked.since, asked.until)
    error = _error(gauge, asked.error, span)
    zone = session.shop.zone
    since = datetime.combine(span.since, time.min, zone) if span.since is not None else None
    until = datetime.combine(span.until + timedelta(days=1), time.min, zone)
    with session.store.reading() as records:
        made = read_with(records, gauge.id, since, until)
        serials = sorted(made)
        pieces = [serials[at : at + AT_ONCE] for at in range(0, len(serials), AT_ONCE)]
        plans = Plans(records)
        units = [
            unit
            for piece in progress(pieces, len(pieces))
            for unit in _units(session, records, plans, piece, made, error)
        ]
    units.sort(key=lambda recalled_unit: (not recalled_unit.failing, recalled_unit.unit.serial))
    return Recall(gauge.id, error, since, until, span.basis, tuple(units))


FARTHEST = date(9000, 1, 1)
"""The last day that is asked about, so that the day after it exists in every time zone."""


def span_of(gauge: Gauge, today: date, since: date | None, until: date | None) -> Span:
    """The days in which the gauge may have been wrong, where they are not given.

    It ends with the calibration that found it out and made it good again, else today; it begins with the last
    calibration before that which left it good.

    Raises:
        CannotDo: the first day is after the last day.
    """
    last = min(until or today, FARTHEST)
    done = sorted(
        (calibration for calibration in gauge.calibrations if calibration.on <= last),
        key=lambda calibration: calibration.on,
    )
    found = done[-1] if done and not (done[-1].found_in and done[-1].good) else None
    before = [calibration for calibration in (done[:-1] if found is not None else done) if calibration.good]
    if until is None and found is not None and found.good:
        last = found.on
    if since is None:
        first = before[-1].on if before else None
        basis = f"since its last good calibration on {first}" if first else "no good calibration before"
    else:
        first, basis = since, f"since {since}, as asked"
    if first is not None and first > last:
        what = f"the first day, {first}, is after the last day, {last}"
        raise CannotDo(what, "correct the days")
    return Span(first, last, basis, found)


def findings_of(recalled: Recall) -> Iterator[Finding]:
    """RCL001 for each unit that would not have been accepted; RCL002, RCL003 (warnings) what is not known."""
    for unit in recalled.affected:
        slots = "; ".join(map(_slot, unit.failing[:_TOLD]))
        slots += f" and {len(unit.failing) - _TOLD} more" if len(unit.failing) > _TOLD else ""
        what = f"with the error of {recalled.gauge} taken off, not accepted: {slots}"
        place = Place(unit=unit.unit.serial, slot=unit.failing[0].slot, entry=unit.failing[0].entry)
        yield Finding("RCL001", what, place, Weight.BLOCKING, hint=f"it is {unit.where}")
    for unit in recalled.units:
        for reading in unit.readings:
            if reading.problem:
                place = Place(unit=unit.unit.serial, slot=reading.entry.slot, entry=reading.entry.seq)
                what = f"the error cannot be taken off {reading.written}: {reading.problem}"
                yield Finding("RCL002", what, place, Weight.WARNING, hint="weigh it by hand")
    if recalled.since is None:
        what = f"{recalled.gauge} has no good calibration before; every reading ever made with it is here"
        yield Finding("RCL003", what, Place(), Weight.WARNING)


def _slot(reweighing: Reweighed) -> str:
    return (
        f"{reweighing.slot} {reweighing.now} {reweighing.unit} "
        f"({reweighing.beyond or reweighing.after or 'cannot be worked out'})"
    )


_TOLD = 3
"""So many slots of a unit are listed in its finding."""


def _error(gauge: Gauge, given: str | None, span: Span) -> FoundError:
    """The error given, else the one that the calibration found.

    Raises:
        CannotDo: it cannot be read, or there is none.
    """
    text = given if given is not None else (span.found_by.error if span.found_by is not None else None)
    if text is None:
        what = f"by how much {gauge.id} was wrong is neither given nor in the register"
        raise CannotDo(what, 'give it with --error "+0.02 mm": plus, if it showed too much')
    try:
        return parse_error(text)
    except Unreadable as problem:
        raise CannotDo(f"{problem.what} ({problem.code})", problem.hint) from problem


def _units(
    session: Session,
    records: Records,
    plans: Plans,
    serials: Sequence[str],
    made: Mapping[str, set[int]],
    error: FoundError,
) -> Iterator[RecalledUnit]:
    shop = session.shop
    for serial, rows in groupby(_rows(records, serials), key=lambda row: row.unit):
        own = list(rows)
        unit = Records.unit(records, serial)
        if unit is None:
            what = f"the unit {serial} is not in the records, and entries of it are"
            raise StoreDamaged(what, "run 'traveler records verify', and compare with a backup")
        plan = plans.plan(unit, [to_entry(own[0])])
        entries = [to_entry(row) for row in _decisive(own, plan, made[serial])]
        case = Case(
            serial, plan, entries, gauges=shop.gauges, people=shop.people, settings=shop.settings,
            now=session.now, facts=OutsideFacts(),
        )  # fmt: skip
        found = recall_unit(unit, case, made[serial], error)
        if found.failing:
            inside = [units_with(records, kind, serial) for kind in ("lot", "part_serial")]
            found = replace(found, fitted_in=tuple(sorted(frozenset().union(*inside))))
        yield found


def _rows(records: Records, serials: Sequence[str]) -> Iterator[StoredRow]:
    """The entries of the units as stored, by unit and number; most readings need not be understood."""
    columns = tables.entry_table.c
    asked = select(tables.entry_table).where(columns.unit.in_(serials), columns.kind.in_(NEEDED))
    found: Any = records.ask(asked.order_by(columns.unit, columns.seq))
    return (StoredRow(*row) for row in found)


def _decisive(rows: Sequence[StoredRow], plan: Plan, seqs: set[int]) -> Iterator[StoredRow]:
    """Those that bear on the slots read with the gauge: of readings the ones in these slots and workings."""
    slots = {row.slot for row in rows if row.seq in seqs}
    for worked in plan_index(plan).worked:
        if not slots.isdisjoint(worked.slot.inputs):
            slots.update(worked.slot.inputs)
    return (row for row in rows if row.kind != "read" or row.slot in slots)


def affected_serials(recall: Recall, *, shipped: bool | None = None) -> tuple[str, ...]:
    """Serials of the units that would not have been accepted; only shipped ones, or only those still here."""
    return tuple(
        affected.unit.serial for affected in recall.affected if shipped is None or affected.shipped is shipped
    )  # fmt: skip


def recall_unit(
    unit: Unit, case: Case, seqs: Collection[int], error: FoundError, fitted_in: Sequence[str] = ()
) -> RecalledUnit:
    """One unit with the readings of these numbers weighed again.

    ``case`` needs the entries of the kinds :data:`NEEDED` only.
    """
    read = [entry for entry in case.entries if entry.seq in seqs and isinstance(entry.body, Read)]
    worth: dict[int, Quantity] = {}
    problems: dict[int, str] = {}
    for entry in read:
        found = _worth(entry, error)
        if isinstance(found, Quantity):
            worth[entry.seq] = found
        else:
            problems[entry.seq] = found
    decided = deciding_readings(case)
    results = reweigh(case, worth, decided)
    by_entry = {reweighing.entry: reweighing for reweighing in results if reweighing.entry is not None}
    idle = dict(_idle(case, decided, read))
    readings = tuple(
        RecalledReading(
            entry, _label(case, entry), _written(entry), _text(worth.get(entry.seq)),
            idle.get(entry.seq, ""), problems.get(entry.seq, ""), by_entry.get(entry.seq),
        )
        for entry in read
    )  # fmt: skip
    worked = tuple(reweighing for reweighing in results if reweighing.worked)
    place = whereabouts(unit.state, case.entries)
    return RecalledUnit(unit, place.text, place.with_customer, readings, worked, tuple(fitted_in))


def _worth(entry: Entry, error: FoundError) -> Quantity | str:
    """What the reading is worth; why it cannot be said."""
    body = entry.body
    return _without(body.value, body.unit, error) if isinstance(body, Read) else "no reading"


@lru_cache(maxsize=65536)
def _without(value: str, unit: str | None, error: FoundError) -> Quantity | str:
    """Kept, since a shop's readings repeat."""
    read = understood(value, unit, None)
    if isinstance(read, Unfit):
        return read.what
    try:
        return corrected(read, error)
    except Unreadable as problem:
        return problem.what


@lru_cache(maxsize=65536)
def _text(quantity: Quantity | None) -> str | None:
    return None if quantity is None else f"{format_number(quantity.value, quantity.decimals)} {quantity.unit}"


def _written(entry: Entry) -> str:
    """As it was written, with its unit where that stood beside it."""
    return entry.body.with_unit if isinstance(entry.body, Read) else ""


def _label(case: Case, entry: Entry) -> str:
    spot = case.index.slots.get(entry.slot or "")
    return spot.slot.label if spot is not None else ""


def _idle(case: Case, decided: DecidingReadings, read: Sequence[Entry]) -> Iterator[tuple[int, str]]:
    """Number of an entry → why it decides nothing."""
    struck: Mapping[int, int] = struck_by(case.entries)
    unreadable = {reading.entry.seq: reading.what for reading in decided.unreadable}
    for entry in read:
        if entry.seq in struck:
            yield entry.seq, f"struck out by #{struck[entry.seq]}"
            continue
        if entry.seq in unreadable:
            yield entry.seq, unreadable[entry.seq]
            continue
        row = decided.rows.get(entry.slot or "")
        if row is None:
            yield entry.seq, "its slot is not in the plan"
        elif row.seq != entry.seq:
            found = isinstance(entry.body, Read) and entry.body.as_found
            yield entry.seq, f"{AS_FOUND} #{row.seq}" if found else f"{READ_AGAIN} #{row.seq}"
