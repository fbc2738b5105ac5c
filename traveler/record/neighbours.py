"""The units built before and after one: a window of neighbours, found by index; and what was read of each.

However many units a store holds, no more than the window is looked at. Which unit is before and which after
goes by the time of issue, then by serial.
"""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import ColumnElement, and_, or_, select

from traveler.record import tables
from traveler.record.glance import Glimpse
from traveler.record.records import Records
from traveler.record.unit import Unit

BEFORE, AFTER = 50, 50
"""How many units before and after are looked at unless told otherwise."""

_UNIT = tables.unit.c


def neighbours(
    records: Records, product: str, around: str, before: int = BEFORE, after: int = AFTER
) -> tuple[tuple[Unit, ...], tuple[Unit, ...]]:
    """At most so many units of the product issued before and after this one, in the order of issue.

    A serial that was never issued has no neighbours.
    """
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
