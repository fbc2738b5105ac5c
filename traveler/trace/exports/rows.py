"""From one unit's record to the rows of every table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from fractions import Fraction

from traveler.definition.plan import Plan
from traveler.finding import Finding
from traveler.measure.number import exact_text, parse_number
from traveler.measure.unreadable import Unreadable
from traveler.record.columns import time_text
from traveler.record.entry import Adjusted, Entry, Fitted, Read, Shipped
from traveler.record.unit import Unit
from traveler.trace.history import struck_by
from traveler.trace.series.slot_life import SlotLife, Taken, check_named
from traveler.trace.series.unit_life import KINDS, unit_life
from traveler.trace.series.weigher import Weigher
from traveler.trace.statistics.result import number_text
from traveler.trace.whereabouts import whereabouts
from traveler.verdict.counting import counting
from traveler.verdict.planned import Spot, planned

Cell = str | int | None
Row = tuple[Cell, ...]

NEEDED = frozenset({*KINDS, "fitted", "placed", "shipped"})
"""The kinds of entries that the rows are made from."""


def number(value: Fraction) -> str:
    """The number as decimal text: exact where decimals end, else 15 significant digits.

    >>> number(Fraction(11, 8)), number(Fraction(1, 3))
    ('1.375', '0.333333333333333')
    """
    text = exact_text(value)
    return text if "/" not in text else number_text(value)


def unit_rows(unit: Unit, plan: Plan, entries: Sequence[Entry], weigher: Weigher) -> dict[str, list[Row]]:
    """Table → rows of this unit, but for its findings; ``entries`` are at least those of :data:`NEEDED`."""
    life = unit_life(unit, plan, entries, weigher)
    made = _Rows(unit, plan, entries)
    read = {one.spot.slot.id: one for one in life.slots if not one.spot.slot.inputs}
    worked = [one for one in life.slots if one.spot.slot.inputs]
    return {
        "units": [made.unit_row()],
        "readings": [
            made.reading(entry, entry.body, read) for entry in entries if isinstance(entry.body, Read)
        ],
        "worked": [made.worked(one, one.stands) for one in worked if one.stands is not None],
        "adjustments": [
            made.adjustment(entry, entry.body) for entry in entries if isinstance(entry.body, Adjusted)
        ],
        "fitted": [made.fitted(entry, entry.body) for entry in entries if isinstance(entry.body, Fitted)],
    }


def finding_rows(unit: Unit, findings: Sequence[Finding]) -> Iterator[Row]:
    """The rows of the table of findings."""
    for one in findings:
        yield (
            *_built(unit), one.code, str(one.weight), one.place.slot, one.place.entry, one.what, one.hint,
        )  # fmt: skip


def _built(unit: Unit) -> Row:
    return unit.serial, unit.product, unit.revision, unit.variant


def _who(entry: Entry) -> Row:
    return entry.slot, entry.seq, time_text(entry.at), entry.by


class _Rows:
    """The rows of one unit, with what they share looked up once."""

    def __init__(self, unit: Unit, plan: Plan, entries: Sequence[Entry]) -> None:
        self.unit = unit
        self.plan = plan
        self.entries = entries
        self.spots: Mapping[str, Spot] = planned(plan).spots
        self.struck = struck_by(entries)

    def unit_row(self) -> Row:
        unit, standing = self.unit, counting(self.entries)
        last: dict[str, Entry] = {one.body.kind: one for one in standing}
        shipped = last.get("shipped")
        customer = shipped.body.customer if shipped and isinstance(shipped.body, Shipped) else None
        return (
            *_built(unit), unit.digest, unit.order, unit.quantity, unit.state,
            whereabouts(unit.state, self.entries), time_text(unit.issued), _time(last.get("released")),
            _time(shipped), customer, unit.entries, unit.head,
        )  # fmt: skip

    def reading(self, entry: Entry, body: Read, read: Mapping[str, SlotLife]) -> Row:
        life = read.get(entry.slot or "")
        taken = next((one for one in life.readings if one.seq == entry.seq), None) if life else None
        first = life is not None and taken is not None and life.first.seq == entry.seq
        counts = (
            life is not None
            and taken is not None
            and life.stands is not None
            and life.stands.seq == entry.seq
        )
        return (
            *_built(self.unit), *self._where(entry.slot), *_who(entry), time_text(entry.recorded),
            entry.source, body.gauge, body.written, _decimal(body.value), body.unit, int(body.as_found),
            int(first), int(counts), *_limits(life, taken), self.struck.get(entry.seq),
        )  # fmt: skip

    def worked(self, life: SlotLife, taken: Taken) -> Row:
        slot = life.spot.slot.id
        return *_built(self.unit), *self._where(slot), slot, time_text(taken.at), *_limits(life, taken)

    def adjustment(self, entry: Entry, body: Adjusted) -> Row:
        return (
            *_built(self.unit), *self._where(entry.slot), *_who(entry), body.done, body.amount, body.advised,
            None if body.followed is None else int(body.followed), self.struck.get(entry.seq),
        )  # fmt: skip

    def fitted(self, entry: Entry, body: Fitted) -> Row:
        spot = self.spots.get(entry.slot or "")
        number = body.number or (
            spot.step.part_number if spot is not None and spot.step is not None else None
        )
        return (
            *_built(self.unit), *_who(entry), number, body.trace,
            body.value, self.struck.get(entry.seq),
        )  # fmt: skip

    def _where(self, slot: str | None) -> Row:
        spot = self.spots.get(slot or "")
        if spot is None:
            return None, None, 0, ""
        check, again = (
            check_named(self.plan, spot.step, spot.slot)
            if spot.step is not None
            else (spot.slot.label, False)
        )
        position = ",".join(f"{name}={value}" for name, value in spot.slot.position)
        return spot.operation.number, check, int(again), position


def _limits(life: SlotLife | None, taken: Taken | None) -> Row:
    limits = life.limits if life is not None else None
    low, high = (None, None) if limits is None else (limits.lower, limits.upper)
    return (
        str(taken.state) if taken is not None else None,
        None if low is None else number(low),
        None if high is None else number(high),
        limits.unit if limits is not None else None,
        number(taken.value) if taken is not None else None,
    )


def _decimal(text: str) -> str:
    """A recorded number as decimal text; one that no reader understands stays as it is."""
    if "/" not in text:
        return text
    try:
        return number(parse_number(text).value)
    except Unreadable:
        return text


def _time(entry: Entry | None) -> str | None:
    moment: datetime | None = entry.at if entry is not None else None
    return None if moment is None else time_text(moment)
