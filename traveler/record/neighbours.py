"""The same readings on the units built before and after one: a window of neighbours, found by index.

However many units a store holds, no more than the window is looked at. Which unit is before and which after
goes by the time of issue, then by serial.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import ColumnElement, and_, or_, select

from traveler.record import tables
from traveler.record.columns import time_of
from traveler.record.glance import Glimpse, glance
from traveler.record.records import Records
from traveler.record.unit import Unit

BEFORE, AFTER = 50, 50
"""How many units before and after are looked at unless told otherwise."""

_UNIT = tables.unit.c


@dataclass(frozen=True, slots=True)
class ReadingAt:
    """The reading that stands in a slot of a unit: the last by the time of the work, not struck out.

    A reading as found counts only where there is none as left. ``value`` is the exact number as text,
    ``unit`` the unit it was understood in.
    """

    serial: str
    slot: str
    seq: int
    done: str
    by: str
    value: str
    unit: str | None
    gauge: str | None

    @property
    def at(self) -> datetime:
        """When it was read, in UTC."""
        return time_of(self.done)


@dataclass(frozen=True, slots=True)
class Window:
    """Neighbours in the order of issue and what was read on them: slot → serial → reading that stands."""

    before: tuple[Unit, ...] = ()
    after: tuple[Unit, ...] = ()
    readings: Mapping[str, Mapping[str, ReadingAt]] = field(default_factory=dict)


def readings_at(
    records: Records,
    product: str,
    slots: Collection[str],
    *,
    around: str,
    before: int = BEFORE,
    after: int = AFTER,
) -> Window:
    """What stands in these slots on at most so many units of the product issued before and after ``around``.

    A slot id means the same check only on units of the same definition and variant: the caller, who knows
    the plans, compares those. Units on which nothing was read in these slots are among the neighbours too.
    A serial that was never issued has no neighbours.

    Raises:
        StoreDamaged: an entry cannot be read as an entry.
    """
    earlier, later = neighbours(records, product, around, before, after)
    seen = glance(records, [one.serial for one in (*earlier, *later)], ("read",))
    return Window(earlier, later, standing_readings(seen.values(), slots))


def neighbours(
    records: Records, product: str, around: str, before: int = BEFORE, after: int = AFTER
) -> tuple[tuple[Unit, ...], tuple[Unit, ...]]:
    """At most so many units of the product issued before and after this one, in the order of issue."""
    middle = records.unit(around)
    if middle is None:
        return (), ()
    earlier = _nearest(records, product, middle, before, earlier=True)
    return earlier[::-1], _nearest(records, product, middle, after, earlier=False)


def _nearest(records: Records, product: str, middle: Unit, count: int, *, earlier: bool) -> tuple[Unit, ...]:
    """The nearest units on one side, nearest first."""
    asked = select(tables.unit).where(_UNIT.product == product, _beyond(middle, earlier=earlier))
    order = [one.desc() if earlier else one.asc() for one in (_UNIT.issued, _UNIT.serial)]
    return tuple(Unit(*tuple(row)) for row in records.ask(asked.order_by(*order).limit(count)))


def _beyond(middle: Unit, *, earlier: bool) -> ColumnElement[bool]:
    """Before or after by issue, then serial; the range on ``issued`` alone is what the index serves."""
    issued, serial = middle.issued, middle.serial
    if earlier:
        return and_(_UNIT.issued <= issued, or_(_UNIT.issued < issued, _UNIT.serial < serial))
    return and_(_UNIT.issued >= issued, or_(_UNIT.issued > issued, _UNIT.serial > serial))


def standing_readings(
    units: Iterable[Iterable[Glimpse]], slots: Collection[str]
) -> Mapping[str, Mapping[str, ReadingAt]]:
    """Slot → serial → the reading that stands, from glimpses of readings that are not struck out.

    Raises:
        StoreDamaged: one of them is no reading.
    """
    wanted = frozenset(slots)
    found: dict[str, dict[str, ReadingAt]] = {}
    for seen in units:
        for slot, one in last_readings(seen).items():
            if slot in wanted:
                found.setdefault(slot, {})[one.unit] = _reading(slot, one)
    return found


def last_readings(seen: Iterable[Glimpse]) -> dict[str, Glimpse]:
    """Slot → the reading of a unit that stands: the last as left; where there is none, the last as found."""
    last: dict[str, Glimpse] = {}
    for one in seen:
        if one.kind != "read" or one.slot is None:
            continue
        held = last.get(one.slot)
        if held is None or _rank(one) > _rank(held):
            last[one.slot] = one
    return last


def _rank(one: Glimpse) -> tuple[bool, str, int]:
    return '"as_found":true' not in one.body, one.at, one.seq


def _reading(slot: str, one: Glimpse) -> ReadingAt:
    said = one.says()
    if not isinstance(said.get("value"), str):
        raise one.damaged()
    value, unit, gauge = said["value"], said.get("unit"), said.get("gauge")
    return ReadingAt(one.unit, slot, one.seq, one.at, one.by, value, unit, gauge)
