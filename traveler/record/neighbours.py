"""The same readings on the units built before and after one: a window of neighbours, found by index.

However many units a store holds, no more than the window is looked at. Which unit is before and which after
goes by the day of issue, then by serial.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Row, Select, and_, or_, select

from traveler.record import tables
from traveler.record.columns import time_of
from traveler.record.records import Records
from traveler.record.trouble import StoreDamaged
from traveler.record.unit import Unit

BEFORE, AFTER = 50, 50
"""How many units before and after are looked at unless told otherwise."""

_ENTRY = tables.entry.c
_UNIT = tables.unit.c


@dataclass(frozen=True, slots=True)
class ReadingAt:
    """The reading that stands in a slot of a unit: the last by the time of the work, not struck out.

    ``value`` is the exact number as text, ``unit`` the unit it was understood in.
    """

    serial: str
    slot: str
    seq: int
    at: datetime
    by: str
    value: str
    unit: str | None
    gauge: str | None


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
    middle = records.unit(around)
    if middle is None:
        return Window()
    earlier, later = (
        _units(records, product, middle, count, earlier=way)
        for count, way in ((before, True), (after, False))
    )
    serials = [one.serial for one in (*earlier, *later)]
    return Window(earlier[::-1], later, _standing(_rows(records, serials), slots))


def _units(records: Records, product: str, middle: Unit, count: int, *, earlier: bool) -> tuple[Unit, ...]:
    """The nearest units on one side, nearest first."""
    asked = select(tables.unit).where(_UNIT.product == product, _beyond(middle, earlier=earlier))
    order = (
        (_UNIT.issued.desc(), _UNIT.serial.desc()) if earlier else (_UNIT.issued.asc(), _UNIT.serial.asc())
    )
    return tuple(Unit(*tuple(row)) for row in records.ask(asked.order_by(*order).limit(count)))


def _beyond(middle: Unit, *, earlier: bool) -> ColumnElement[bool]:
    """Before or after by issue, then serial; the range on ``issued`` alone is what the index serves."""
    if earlier:
        return and_(
            _UNIT.issued <= middle.issued, or_(_UNIT.issued < middle.issued, _UNIT.serial < middle.serial)
        )
    return and_(
        _UNIT.issued >= middle.issued, or_(_UNIT.issued > middle.issued, _UNIT.serial > middle.serial)
    )


def _rows(records: Records, serials: Collection[str]) -> Iterable[Row[Any]]:
    """Every reading and every strike-out of these units, by unit and number."""
    if not serials:
        return ()
    return records.ask(_asked(serials)).all()


def _asked(serials: Collection[str]) -> Select[Any]:
    columns = (_ENTRY.unit, _ENTRY.seq, _ENTRY.at, _ENTRY.by, _ENTRY.slot, _ENTRY.kind, _ENTRY.body)
    wanted = select(*columns).where(_ENTRY.unit.in_(serials), _ENTRY.kind.in_(("read", "struck")))
    return wanted.order_by(_ENTRY.unit, _ENTRY.seq)


def _standing(rows: Iterable[Row[Any]], slots: Collection[str]) -> Mapping[str, Mapping[str, ReadingAt]]:
    wanted = frozenset(slots)
    struck: set[tuple[str, int]] = set()
    last: dict[tuple[str, str], tuple[str, int, Row[Any], Mapping[str, Any]]] = {}
    for row in reversed(list(rows)):  # a strike-out comes after what it strikes, and may itself be struck
        if (row.unit, row.seq) in struck:
            continue
        if row.kind == "struck":
            strikes = _body(row).get("strikes")
            if isinstance(strikes, int) and strikes < row.seq:
                struck.add((row.unit, strikes))
        elif row.slot in wanted:
            key, done = (row.slot, row.unit), (row.at, row.seq)
            if key not in last or done > last[key][:2]:
                last[key] = (*done, row, _body(row))
    found: dict[str, dict[str, ReadingAt]] = {}
    for (slot, serial), (_, _, row, body) in last.items():
        found.setdefault(slot, {})[serial] = _reading(row, body)
    return found


def _body(row: Row[Any]) -> Mapping[str, Any]:
    try:
        body = json.loads(row.body)
    except ValueError as problem:
        raise _damaged(row) from problem
    if not isinstance(body, dict):
        raise _damaged(row)
    return body


def _reading(row: Row[Any], body: Mapping[str, Any]) -> ReadingAt:
    try:
        return ReadingAt(
            row.unit, row.slot, row.seq, time_of(row.at), row.by,
            str(body["value"]), body.get("unit"), body.get("gauge"),
        )  # fmt: skip
    except (KeyError, ValueError, TypeError) as problem:
        raise _damaged(row) from problem


def _damaged(row: Row[Any]) -> StoreDamaged:
    what = f"entry #{row.seq} of {row.unit} cannot be read as an entry"
    return StoreDamaged(what, "run 'traveler verify' and restore a backup")
