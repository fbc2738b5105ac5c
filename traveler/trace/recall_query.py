"""Recalling a gauge: what was read with it since it was last good, weighed again without its error."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from itertools import groupby
from pathlib import Path
from typing import Any

from sqlalchemy import select

from traveler.definition.plan import Plan
from traveler.files import write_whole
from traveler.finding import CannotDo, Finding, Place, Weight
from traveler.measure.gauge_error import FoundError, parse_error
from traveler.measure.number import Unreadable
from traveler.record import tables
from traveler.record.errors import StoreDamaged
from traveler.record.plans import Plans
from traveler.record.records import Records
from traveler.record.stored import StoredRow, to_entry
from traveler.sheets.sheet import Printing
from traveler.sheets.templates import templates
from traveler.shop.gauges import Calibration, Gauge
from traveler.shop.session import Session
from traveler.trace.queries import read_with
from traveler.trace.recall import NEEDED, Recall, RecalledUnit, recall_unit
from traveler.trace.reports import recall_page, recall_sheet
from traveler.trace.where_used import units_with
from traveler.verdict.case import Case, OutsideFacts
from traveler.verdict.deciding import Reweighed
from traveler.verdict.plan_index import plan_index

AT_ONCE = 100
"""Units looked at together."""

Watch = Callable[[Iterable[Sequence[str]], int], Iterable[Sequence[str]]]
"""Something that looks on while lots of serials go by, and passes them on."""


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


def recall(session: Session, asked: RecallRequest, watch: Watch = lambda pieces, _: pieces) -> Recall:
    """What the error does to every unit read with the gauge; nothing is written.

    Limits and rules are those each unit was issued with, uncertainties those of the register on the day.

    Raises:
        CannotDo: no such gauge; an error that cannot be read, or none given and none in the register; days
            the wrong way round.
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
            for piece in watch(pieces, len(pieces))
            for unit in _units(session, records, plans, piece, made, error)
        ]
    units.sort(key=lambda recalled_unit: (not recalled_unit.failing, recalled_unit.unit.serial))
    return Recall(gauge.id, error, since, until, span.basis, tuple(units))


def span_of(gauge: Gauge, today: date, since: date | None, until: date | None) -> Span:
    """The days in which the gauge may have been wrong, where they are not given.

    It ends with the calibration that found it out and made it good again, else today; it begins with the last
    calibration before that which left it good.

    Raises:
        CannotDo: they are the wrong way round.
    """
    last = until or today
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
        what = f"--since {first} is later than --until {last}"
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


def write_recall(session: Session, recalled: Recall, file: Path) -> tuple[Finding, ...]:
    """Writes the recall as a sheet, PDF or HTML by the ending of the file's name; gives findings about it.

    Raises:
        CannotDo: the name has another ending.
        OSError: the file cannot be written.
    """
    gauge = session.shop.gauges.named(recalled.gauge)
    printing = Printing(session.shop.settings, session.now, templates=templates(session.shop.folder))
    ending = file.suffix.lower()
    if ending in (".html", ".htm"):
        write_whole(file, recall_page(recalled, gauge, printing))
        return ()
    if ending != ".pdf":
        what = f"{file} is to be neither PDF nor HTML"
        raise CannotDo(what, "name it .pdf or .html")
    sheet = recall_sheet(recalled, gauge, printing)
    if sheet.printed:
        write_whole(file, sheet.pdf)
    return sheet.findings


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
