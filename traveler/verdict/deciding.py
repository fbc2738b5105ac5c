"""The reading or worked-out value that decides each slot; and what slots would be with other readings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from traveler.definition.plan import SlotKind, WorkOut
from traveler.finding import Finding
from traveler.measure.geometry.work_out import WorkedOut, work_out
from traveler.measure.limits import Limits
from traveler.measure.number import (
    Unreadable,
    decimals_needed,
    display_number,
    exact_text,
    format_number,
    length,
)
from traveler.measure.quantity import Quantity
from traveler.record.entry import Entry, Read, done_order
from traveler.verdict.case import Case, SlotEntries
from traveler.verdict.plan_index import PlannedSlot
from traveler.verdict.rows import (
    TWO,
    ReadingRow,
    Unfit,
    Weighed,
    Weigher,
    distance_outside,
    value_text,
    weigh_quantity,
)
from traveler.verdict.state import SlotState


@dataclass(frozen=True, slots=True)
class UnreadableReading:
    """A reading that cannot be judged, and why (a code of the readings family)."""

    slot: str
    entry: Entry
    code: str
    what: str
    hint: str = ""


@dataclass(frozen=True, slots=True)
class DecidingReadings:
    """What decides in every slot that is read or worked out.

    ``unreadable``: later readings that cannot be judged. ``findings``: what cannot be worked out.
    """

    rows: dict[str, ReadingRow]
    unreadable: tuple[UnreadableReading, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def read(self) -> list[ReadingRow]:
        """The rows that were read, without those worked out from them."""
        return [row for row in self.rows.values() if not row.worked]


def deciding_readings(case: Case) -> DecidingReadings:
    """The row that decides each slot: readings in the order in which they were first written, then workings.

    Findings: REA013 a value cannot be worked out.
    """
    weigher = Weigher(case.settings, case.gauges, case.zone)
    unreadable: list[UnreadableReading] = []
    rows: dict[str, ReadingRow] = {}
    for slot, filled in case.filled_of(SlotKind.READING):
        row = _deciding(case, weigher, filled, unreadable)
        if row is not None:
            rows[slot] = row
    findings: list[Finding] = []
    rows |= _work_out_slots(case, weigher, rows, findings)
    return DecidingReadings(rows, tuple(unreadable), tuple(findings))


def _deciding(
    case: Case, weigher: Weigher, filled: SlotEntries, unreadable: list[UnreadableReading]
) -> ReadingRow | None:
    """The last understood reading as left; where there is none, the last one as found."""
    planned = filled.planned
    if planned.step is None:
        return None
    limits = case.index.limits.get(planned.step.id)
    for entry, body in newest_first(filled.entries):
        found = weigher.row(planned, planned.step, limits, entry, body)
        if not isinstance(found, Unfit):
            return found
        unreadable.append(UnreadableReading(planned.slot.id, entry, *found))
    return None


def newest_first(entries: Sequence[Entry]) -> list[tuple[Entry, Read]]:
    """Readings as left, the last one first; then those as found, the last one first."""
    read = [(entry, entry.body) for entry in reversed(entries) if isinstance(entry.body, Read)]
    if len(read) > 1:
        read.sort(key=lambda item: item[1].as_found)
    return read


PositionedReading = tuple[tuple[tuple[str, str], ...], Quantity]
"""The positions of a reading with their values, and the reading."""

_MORE, _MOST = 2, 20
"""Decimals beyond those of the limits: as a rule, and at the most before the exact number is written."""


def _work_out_slots(
    case: Case, weigher: Weigher, rows: Mapping[str, ReadingRow], findings: list[Finding]
) -> dict[str, ReadingRow]:
    """Every worked-out slot whose inputs are all read."""
    worked: dict[str, ReadingRow] = {}
    for planned in case.index.worked:
        inputs = [rows[name] for name in planned.slot.inputs if name in rows]
        if planned.step is None or not inputs or len(inputs) < len(planned.slot.inputs):
            continue
        try:
            worked[planned.slot.id] = worked_row(planned, case.index.limits, weigher, inputs)
        except Unreadable as problem:
            what = f"{planned.slot.label}: {problem.what}"
            findings.append(case.finding("REA013", what, slot=planned.slot.id, hint=problem.hint))
    return worked


def worked_row(
    planned: PlannedSlot,
    limits_of: Mapping[str, Limits | None],
    weigher: Weigher,
    inputs: Sequence[ReadingRow],
    *,
    guarded: bool = True,
) -> ReadingRow:
    """The value worked out from these readings, weighed; without ``guarded`` by the simple rule.

    Under the guarded rule it needs an uncertainty. It is found as JCGM 100:2008, 5.1.3 note 2, allows: every
    reading is moved by its standard uncertainty, up and down, and half of what the value moves is its share.
    The shares are combined as independent ones (5.1.2) and expanded with k = 2.

    Raises:
        Unreadable: the readings do not give the value.
    """
    step, how = planned.step, planned.step.how if planned.step is not None else None
    if step is None or how is None:
        raise Unreadable("WRK001", "the plan does not say how it is worked out")
    limits = limits_of.get(step.id)
    unit = limits.unit if limits is not None else None
    placed = [(row.planned.slot.position, row.value) for row in inputs]
    found = _worked_value(how, placed, unit)
    rule = weigher.rule(step) if guarded else weigher.rule(step)._replace(decision="simple")
    if limits is None:
        text = display_number(found.value.value, found.value.decimals)
        weighed = Weighed(SlotState.DONE, found.value, found.value, text)
    else:
        expanded = _uncertainty(how, placed, unit, inputs) if rule.decision == "guarded" else None
        weighed = weigh_quantity(limits, found.value, rule, expanded, TWO)
        weighed = weighed._replace(text=worked_text(weighed.value, limits))
    last = max((row.entry for row in inputs), key=done_order)
    gauges = {row.gauge for row in inputs}
    gauge = gauges.pop() if len(gauges) == 1 else None
    latest = max(row.latest for row in inputs)
    return ReadingRow(
        planned, step, limits, weighed, last,
        gauge=gauge, worked=True, worked_at=found.where, latest=latest,
    )  # fmt: skip


def worked_text(value: Quantity, limits: Limits) -> str:
    """The number for people: two decimals more than the limits have, since a computed one may never end.

    More are shown where rounding would carry it onto or over a bound, so that print and state agree.
    """
    needed = decimals_needed(value.value)
    if limits.fractions or (needed is not None and needed <= limits.decimals + _MORE):
        return value_text(value, limits)
    bounds = [bound for bound in (limits.lower, limits.upper) if bound is not None]
    for decimals in range(limits.decimals + _MORE, limits.decimals + _MOST):
        text = format_number(value.value, decimals)
        rounded = Fraction(text)
        if all(
            (rounded > bound, rounded < bound) == (value.value > bound, value.value < bound)
            for bound in bounds
        ):
            return text
    return exact_text(value.value)


def _worked_value(how: WorkOut, placed: Sequence[PositionedReading], unit: str | None) -> WorkedOut:
    return work_out(
        how.function, placed, along=how.along, options=how.options, coordinates=how.coordinates, unit=unit
    )


def _uncertainty(
    how: WorkOut, placed: Sequence[PositionedReading], unit: str | None, inputs: Sequence[ReadingRow]
) -> Quantity | None:
    """Expanded uncertainty (k = 2) of the worked-out value; None where that of a reading is not known."""
    shares: list[Fraction] = []
    symbol = ""
    for number, row in enumerate(inputs):
        if row.uncertainty is None:
            return None
        step = row.uncertainty.difference_to(row.value.unit).value / row.k
        high, low = (_worked_value(how, _moved(placed, number, by), unit).value for by in (step, -step))
        shares.append((high.value - low.value) / 2)
        symbol = high.unit
    combined = length(sum((share**2 for share in shares), Fraction(0)))
    return Quantity(2 * combined, symbol, "worked out", 0)


def _moved(placed: Sequence[PositionedReading], number: int, by: Fraction) -> list[PositionedReading]:
    moved = list(placed)
    position, read = moved[number]
    moved[number] = (position, Quantity(read.value + by, read.unit, read.written, read.decimals))
    return moved


_SEVERITY = {SlotState.IN: 0, SlotState.DONE: 0, SlotState.DOUBTFUL: 1, SlotState.OUT: 2}
"""How bad a weighed slot is."""


@dataclass(frozen=True, slots=True)
class Reweighed:
    """A slot before and after. ``after`` is None where the value cannot be worked out any more.

    ``worked``: the value is worked out from readings. ``concession``: the deviation was accepted in writing,
    for what was thought to be there.
    """

    slot: str
    label: str
    entry: int | None
    before: SlotState
    after: SlotState | None
    was: str
    now: str
    unit: str
    limits: str | None
    acceptance: str | None
    beyond: str | None
    """How far out the value is now, with unit and side; None where it is not out."""
    concession: str | None = None
    worked: bool = False

    @property
    def fails(self) -> bool:
        """Whether it was accepted more readily than it should have been."""
        return self.after is None or _SEVERITY[self.after] > _SEVERITY[self.before]

    @property
    def clears(self) -> bool:
        """Whether it is better than it was thought to be."""
        return self.after is not None and _SEVERITY[self.after] < _SEVERITY[self.before]


def reweigh(
    case: Case, instead: Mapping[int, Quantity], decided: DecidingReadings | None = None
) -> tuple[Reweighed, ...]:
    """Every slot with limits that one of the readings decides on, directly or through a working.

    Args:
        case: The unit as it stands in the records.
        instead: Number of an entry → what the reading in it is worth.
        decided: What decides in the unit as it stands, where that is known already.

    Returns:
        The slots in the order of the plan, where a reading of ``instead`` decides.
    """
    before = (decided or deciding_readings(case)).rows
    after = deciding_readings(with_readings(case, instead)).rows
    ruled = {slot for slot, row in before.items() if row.seq in instead}
    found = []
    for slot, planned in case.index.slots.items():
        was = before.get(slot)
        if was is not None and (slot in ruled or not ruled.isdisjoint(planned.slot.inputs)):
            found.append(_compared(case, planned.slot.label, was, after.get(slot)))
    return tuple(found)


def with_readings(case: Case, instead: Mapping[int, Quantity]) -> Case:
    """The same unit with these readings in place of what was read."""
    return Case(
        case.unit, case.plan, tuple(_with(case.entries, instead)),
        gauges=case.gauges, people=case.people, settings=case.settings, now=case.now, facts=case.facts,
    )  # fmt: skip


def _with(entries: tuple[Entry, ...], instead: Mapping[int, Quantity]) -> Iterator[Entry]:
    for entry in entries:
        other = instead.get(entry.seq)
        if other is None or not isinstance(entry.body, Read):
            yield entry
            continue
        value = exact_text(other.value, other.decimals)
        body = entry.body.model_copy(update={"value": value, "unit": other.unit})
        yield entry.model_copy(update={"body": body})


def _compared(case: Case, label: str, was: ReadingRow, now: ReadingRow | None) -> Reweighed:
    stop = case.concession(was.slot, was.latest)
    consent = stop.decision.concession if stop is not None and stop.decision is not None else None
    limits = was.limits
    return Reweighed(
        slot=was.slot, label=label, entry=was.seq, before=was.state,
        after=now.state if now is not None else None,
        was=was.text, now=now.text if now is not None else "", unit=was.unit,
        limits=limits.text if limits is not None else None, acceptance=was.weighed.acceptance,
        beyond=distance_outside(limits, now.value.value) if now is not None and limits is not None else None,
        concession=consent, worked=was.worked,
    )  # fmt: skip
