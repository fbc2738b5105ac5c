"""View model of the certificate: what was measured against what, with which gauge, and who released it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from traveler.definition.plan import Plan, Slot, Step, StepKind
from traveler.record.entry import Released
from traveler.sheets.grid_view import bands, position
from traveler.sheets.limit_text import LimitView, limit_view
from traveler.sheets.record_view import CHECKED, STATED, RecordView
from traveler.sheets.vocabulary import place_name
from traveler.sheets.words import Words
from traveler.shop.gauges import GaugeRegister
from traveler.verdict.counting import counting
from traveler.verdict.outcome import SlotState
from traveler.verdict.stops import stops_of

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
class CheckView:
    """One check: limits, the single value or the tables of values, gauge and reader in words."""

    title: str
    limits: LimitView | None
    value: str
    tables: tuple[ValueTable, ...]
    detail: str


@dataclass(frozen=True, slots=True)
class Line:
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

    checks: tuple[CheckView, ...]
    statements: tuple[Line, ...]
    parts: tuple[Line, ...]
    gauges: tuple[Line, ...]
    concessions: tuple[Line, ...]
    release: ReleaseView | None


def certificate(plan: Plan, record: RecordView, gauges: GaugeRegister, say: Words) -> CertificateView:
    """The view; steps that the record leaves open are left out."""
    return CertificateView(
        checks=tuple(checks(plan, record, say)),
        statements=tuple(_lines(plan, record, STATED, say)),
        parts=tuple(_lines(plan, record, frozenset({StepKind.FIT}), say)),
        gauges=tuple(_gauges(plan, record, gauges, say)),
        concessions=tuple(_concessions(plan, record, say)),
        release=release(record, say),
    )


def checks(plan: Plan, record: RecordView, say: Words) -> Iterator[CheckView]:
    """Every check that has a value, in the order of the work."""
    for step in plan.steps():
        if step.kind in CHECKED and record.step(step):
            repeated = bool(step.slots[0].repeats)
            title = say("{check}, read again by inspection", check=step.text) if repeated else step.text
            yield check_view(step, title, record, say)


def check_view(step: Step, title: str, record: RecordView, say: Words) -> CheckView:
    """One check with what was read."""
    first = record.verdict.slots.get(step.slots[0].id)
    limits = limit_view(step.limits, first.acceptance if first else None, say) if step.limits else None
    single = "" if step.axes else written(step.slots[0], step, record, say)
    return CheckView(title, limits, single, value_tables(step, record, say), _detail(step, record, say))


def value_tables(step: Step, record: RecordView, say: Words) -> tuple[ValueTable, ...]:
    """The values of a repeated check by position."""
    if not step.axes:
        return ()
    return tuple(
        ValueTable(
            band.named(say),
            place_name(band.corner, say),
            tuple(place_name(column, say) for column in band.columns),
            tuple(
                (place_name(name, say), tuple(written(slot, step, record, say) for slot in slots))
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
    words = {SlotState.OUT: say("out, conceded"), SlotState.DOUBTFUL: say("doubtful")}
    return f"{stand.value} {words[stand.state]}" if stand.state in words else stand.value


def _detail(step: Step, record: RecordView, say: Words) -> str:
    stands = record.step(step)
    used = ", ".join(dict.fromkeys(one.gauge for one in stands if one.gauge))
    by = ", ".join(dict.fromkeys(record.name(one.by) for one in stands if one.by))
    days = ", ".join(dict.fromkeys(one.day for one in stands if one.day))
    if step.kind is StepKind.WORK_OUT:
        return say("worked out from the readings")
    gauge = step.gauge.title if step.gauge else ""
    return " · ".join(part for part in (gauge, used, by, days) if part)


def _lines(plan: Plan, record: RecordView, kinds: frozenset[StepKind], say: Words) -> Iterator[Line]:
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
            yield Line(", ".join(part for part in (title, _places(slots, say)) if part), value, by)


def _places(slots: list[Slot], say: Words) -> str:
    """``spindle 1, 2, 3`` for slots along one position, the full positions otherwise."""
    names = {name for slot in slots for name, _ in slot.position}
    if len(names) == 1:
        values = ", ".join(place_name(slot.position[0][1], say) for slot in slots)
        return f"{place_name(names.pop(), say)} {values}"
    return "; ".join(position(slot, say) for slot in slots if slot.position)


def _gauges(plan: Plan, record: RecordView, register: GaugeRegister, say: Words) -> Iterator[Line]:
    used: dict[str, str] = {}
    for step in plan.steps():
        for stand in record.step(step):
            if stand.gauge:
                used[stand.gauge] = max(used.get(stand.gauge, ""), stand.day)
    for name, day in sorted(used.items()):
        gauge = register.get(name)
        if gauge is None:
            yield Line(name, "", say("last used {day}", day=day))
            continue
        on = date.fromisoformat(day)
        last, due, known = gauge.last_calibration(on), gauge.due(on), gauge.uncertainty_on(on)
        uncertainty = f"± {known[0]} (k = {known[1]})" if known else ""
        calibrated = say("calibrated {day}, due {due}", day=last.on, due=due) if last and due else ""
        yield Line(f"{name} {gauge.title}".strip(), uncertainty, calibrated)


def _concessions(plan: Plan, record: RecordView, say: Words) -> Iterator[Line]:
    """A line for each deviation that was accepted in writing: where, by which consent, by whom and when."""
    for stop in stops_of(counting(tuple(record.entries.values()))):
        if stop.decision is None or stop.decided is None or not stop.decision.concession:
            continue
        slot, step = plan.by_slot.get(stop.slot or ""), plan.step_of.get(stop.slot or "")
        place = position(slot, say) if slot is not None and step is not None and slot.position else ""
        label = step.text if step is not None else slot.label if slot is not None else say("whole unit")
        by = " · ".join((record.name(stop.decided.by), record.day(stop.decided)))
        where = ", ".join(part for part in (label.rstrip("."), place) if part)
        yield Line(where, stop.decision.concession, by)


def release(record: RecordView, say: Words) -> ReleaseView | None:
    """The release that stands, with head and count of the record before it."""
    entry = record.released
    if entry is None or not isinstance(entry.body, Released):
        return None
    out = any(one.state in {SlotState.OUT, SlotState.DOUBTFUL} for one in record.verdict.slots.values())
    by, absent = record.name(entry.by), entry.body.instead_of
    if absent is not None:
        by = say("{name} instead of {absent}", name=by, absent=record.name(absent))
    return ReleaseView(out, by, record.day(entry), entry.body.head, str(entry.body.count))
