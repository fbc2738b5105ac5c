"""The quality certificate: what was measured against what, with which gauge, and who released it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Unpack

from traveler.definition.plan import Plan, Slot, Step, StepKind
from traveler.finding import Finding, Place
from traveler.record.entry import Entry, Released, standing_entries
from traveler.sheets.make import Request, make_in_each
from traveler.sheets.pdf.render import attached_plan
from traveler.sheets.sheet import Printing, PrintOptions, Sheet, UnitHeader
from traveler.sheets.views.grid import bands, position
from traveler.sheets.views.head import head, identity
from traveler.sheets.views.limits import LimitView, limit_view
from traveler.sheets.views.readings import CHECKED, STATED, RecordView, record_view
from traveler.sheets.words import Words, position_name
from traveler.shop.gauges import GaugeRegister
from traveler.shop.people import People
from traveler.shop.settings import Settings
from traveler.text import read_day
from traveler.verdict.judge import Verdict
from traveler.verdict.state import NOT_ACCEPTED, SlotState, stops_of

ACROSS = 8
"""Values in a row; nobody writes here, so they may stand closer than boxes."""


@dataclass(frozen=True, slots=True)
class ValueTable:
    """Values of a repeated check by position."""

    caption: str
    corner: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class CertificateCheck:
    """One check: limits, the single value or the tables of values, gauge and reader in words."""

    title: str
    limits: LimitView | None
    value: str
    tables: tuple[ValueTable, ...]
    detail: str


@dataclass(frozen=True, slots=True)
class CertificateLine:
    """One line of a list: what, value, who and when."""

    text: str
    value: str
    by: str


@dataclass(frozen=True, slots=True)
class ReleaseView:
    """Who released the unit, and the end of the record it was judged by. ``conceded``: a value is not in."""

    conceded: bool
    by: str
    day: str
    head: str
    count: str


@dataclass(frozen=True, slots=True)
class CertificateView:
    """The certificate."""

    checks: tuple[CertificateCheck, ...]
    statements: tuple[CertificateLine, ...]
    parts: tuple[CertificateLine, ...]
    gauges: tuple[CertificateLine, ...]
    concessions: tuple[CertificateLine, ...]
    release: ReleaseView | None


def certificate_view(plan: Plan, record: RecordView, gauges: GaugeRegister, say: Words) -> CertificateView:
    """The view; steps that the record leaves open are left out."""
    return CertificateView(
        checks=tuple(certificate_checks(plan, record, say)),
        statements=tuple(_lines(plan, record, STATED, say)),
        parts=tuple(_lines(plan, record, frozenset({StepKind.FIT}), say)),
        gauges=tuple(_gauges(plan, record, gauges, say)),
        concessions=tuple(_concessions(plan, record, say)),
        release=release_view(record, say),
    )


def certificate_checks(plan: Plan, record: RecordView, say: Words) -> Iterator[CertificateCheck]:
    """Every check that has a value, in the order of the work."""
    for step in plan.steps():
        if step.kind in CHECKED and record.step(step):
            repeated = bool(step.slots[0].repeats)
            title = say("{check}, re-measured by inspection", check=step.text) if repeated else step.text
            yield check_view(step, title, record, say)


def check_view(step: Step, title: str, record: RecordView, say: Words) -> CertificateCheck:
    """One check with what was read."""
    first = record.verdict.slots.get(step.slots[0].id)
    limits = limit_view(step.limits, first.acceptance if first else None, say) if step.limits else None
    single = "" if step.axes else written(step.slots[0], step, record, say)
    return CertificateCheck(
        title, limits, single, value_tables(step, record, say), _detail(step, record, say)
    )


def value_tables(step: Step, record: RecordView, say: Words) -> tuple[ValueTable, ...]:
    """The values of a repeated check by position."""
    if not step.axes:
        return ()
    return tuple(
        ValueTable(
            band.named(say),
            position_name(band.corner, say),
            tuple(position_name(column, say) for column in band.columns),
            tuple(
                (position_name(name, say), tuple(written(slot, step, record, say) for slot in slots))
                for name, slots in band.rows
            ),
        )
        for band in bands(step, ACROSS)
    )


def written(slot: Slot | None, step: Step, record: RecordView, say: Words) -> str:
    """A value as printed; what is out or doubtful says so in words."""
    stand = record.slot(slot, step.limits.decimals if step.limits else 0) if slot else None
    if stand is None:
        return "–"
    words = {SlotState.OUT: say("outside limits"), SlotState.DOUBTFUL: say("doubtful")}
    return f"{stand.value} {words[stand.state]}" if stand.state in words else stand.value


def _detail(step: Step, record: RecordView, say: Words) -> str:
    stands = record.step(step)
    used = ", ".join(dict.fromkeys(recorded_value.gauge for recorded_value in stands if recorded_value.gauge))
    by = ", ".join(
        dict.fromkeys(record.name(recorded_value.by) for recorded_value in stands if recorded_value.by)
    )
    days = ", ".join(dict.fromkeys(recorded_value.day for recorded_value in stands if recorded_value.day))
    if step.kind is StepKind.WORK_OUT:
        return say("calculated from the readings")
    gauge = step.gauge.title if step.gauge else ""
    return " · ".join(part for part in (gauge, used, by, days) if part)


def _lines(
    plan: Plan, record: RecordView, kinds: frozenset[StepKind], say: Words
) -> Iterator[CertificateLine]:
    """A line for each step and value; positions with the same value, person and day share one."""
    for step in plan.steps():
        if step.kind not in kinds:
            continue
        alike: dict[tuple[str, str], list[Slot]] = {}
        for slot in step.slots:
            stand = record.slot(slot)
            if stand is not None:
                by = " · ".join(part for part in (record.name(stand.by), stand.day) if part)
                alike.setdefault((stand.value, by), []).append(slot)
        title = " ".join(part for part in (step.text, step.part_number) if part)
        for (value, by), slots in alike.items():
            yield CertificateLine(", ".join(part for part in (title, _places(slots, say)) if part), value, by)


def _places(slots: list[Slot], say: Words) -> str:
    """``spindle 1, 2, 3`` for slots along one position, the full positions otherwise."""
    names = {name for slot in slots for name, _ in slot.position}
    if len(names) == 1:
        values = ", ".join(position_name(slot.position[0][1], say) for slot in slots)
        return f"{position_name(names.pop(), say)} {values}"
    return "; ".join(position(slot, say) for slot in slots if slot.position)


def _gauges(plan: Plan, record: RecordView, register: GaugeRegister, say: Words) -> Iterator[CertificateLine]:
    used: dict[str, str] = {}
    for step in plan.steps():
        for stand in record.step(step):
            if stand.gauge:
                used[stand.gauge] = max(used.get(stand.gauge, ""), stand.day)
    for name, day in sorted(used.items()):
        gauge = register.get(name)
        if gauge is None:
            yield CertificateLine(name, "", say("last used {day}", day=day))
            continue
        on = read_day(day)
        last, due, known = gauge.last_calibration(on), gauge.due(on), gauge.uncertainty_on(on)
        uncertainty = f"± {known[0]} (k = {known[1]})" if known else ""
        calibrated = say("calibrated {day}, due {due}", day=last.on, due=due) if last and due else ""
        yield CertificateLine(f"{name} {gauge.title}".strip(), uncertainty, calibrated)


def _concessions(plan: Plan, record: RecordView, say: Words) -> Iterator[CertificateLine]:
    """A line for each deviation that was accepted in writing: where, by which consent, by whom and when."""
    for stop in stops_of(standing_entries(tuple(record.entries.values()))):
        if stop.decided is None or not stop.consent:
            continue
        slot, step = plan.by_slot.get(stop.slot or ""), plan.step_of.get(stop.slot or "")
        place = position(slot, say) if slot is not None and step is not None and slot.position else ""
        label = step.text if step is not None else slot.label if slot is not None else say("whole unit")
        by = " · ".join((record.name(stop.decided.by), record.day(stop.decided)))
        where = ", ".join(part for part in (label.rstrip("."), place) if part)
        yield CertificateLine(where, stop.consent, by)


def release_view(record: RecordView, say: Words) -> ReleaseView | None:
    """The release that stands, with head and count of the record before it."""
    entry = record.released
    if entry is None or not isinstance(entry.body, Released):
        return None
    out = any(slot.state in NOT_ACCEPTED for slot in record.verdict.slots.values())
    by, absent = record.name(entry.by), entry.body.instead_of
    if absent is not None:
        by = say("{name} instead of {absent}", name=by, absent=record.name(absent))
    return ReleaseView(out, by, record.day(entry), entry.body.head, str(entry.body.count))


def certificate_pdf(
    plan: Plan,
    unit: UnitHeader,
    verdict: Verdict,
    entries: Iterable[Entry],
    settings: Settings,
    printed: datetime,
    *,
    people: People | None = None,
    gauges: GaugeRegister | None = None,
    **options: Unpack[PrintOptions],
) -> Sheet:
    """The certificate: what was measured against what, with which gauge, and who released it.

    Findings: SHT020 the unit is not released; there is no certificate then.
    """
    printing = Printing(settings, printed, **options)
    record = record_view(verdict, entries, people, settings.time_zone)
    missing = () if record.released else (not_released(unit.serial),)

    def build(shown: Plan, printing: Printing) -> Request:
        say = printing.say
        rule = say("Values as measured before shipping.")
        return Request(
            template="sheets/certificate.html",
            title=say("Quality certificate {serial}, {title}", serial=unit.serial, title=shown.title),
            context={
                "head": head(shown, unit, printing, say("Quality certificate"), rule),
                "identity": identity(shown, unit, printing, inside=False),
                "certificate": certificate_view(shown, record, gauges or GaugeRegister(), say),
            },
            address=printing.address(unit.serial, plan.gtin),
            attached=(attached_plan(plan),),
            findings=missing,
        )

    return make_in_each(build, plan, printing)


def not_released(serial: str) -> Finding:
    """The finding for a unit without a standing release."""
    return Finding(
        "SHT020",
        f"{serial} is not released",
        Place(unit=serial),
        hint=f"traveler release {serial}",
    )
