"""Questions over many units at once: the only place where statistics, watch and exports ask the store.

Every question takes units in pieces, so that memory does not grow with the store. What each needs of the
store's indexes:

==========================  ================================================================
question                    looks up
==========================  ================================================================
:func:`pieces`              unit by serial (primary key), ``unit (product, issued)``
:func:`entries_of`          entry by unit (primary key), ``entry (slot, unit)`` with slots
:func:`newest`              ``unit (product, issued)``
:func:`waiting`             ``unit (state, issued)``
:func:`since`               ``entry (kind, unit, recorded)`` of the rarer kinds
==========================  ================================================================
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any

from sqlalchemy import Select, func, or_, select

from traveler.record import tables
from traveler.record.columns import time_text
from traveler.record.entry import Entry
from traveler.record.kept import Kept, to_entry
from traveler.record.records import Records
from traveler.record.unit import Unit

PIECE = 200
"""Units asked for at a time."""

_ENTRY = tables.entry.c
_UNIT = tables.unit.c


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which units are meant; None: all. A serial's own product decides, whatever its state."""

    product: str | None = None
    variant: str | None = None
    revision: str | None = None

    def conditions(self) -> list[Any]:
        """As conditions on the table of units."""
        asked = {"product": self.product, "variant": self.variant, "revision": self.revision}
        return [_UNIT[name] == value for name, value in asked.items() if value is not None]


def products(records: Records) -> tuple[str, ...]:
    """Every product that was ever issued, by name."""
    asked = select(tables.definition.c.product).distinct().order_by(tables.definition.c.product)
    return tuple(str(row[0]) for row in records.ask(asked))


def how_many(records: Records, wanted: Wanted) -> int:
    """How many units are meant."""
    asked = select(func.count()).select_from(tables.unit).where(*wanted.conditions())
    return int(records.ask(asked).scalar_one())


def pieces(
    records: Records, wanted: Wanted, *, since: datetime | None = None, size: int = PIECE
) -> Iterator[tuple[Unit, ...]]:
    """The units by serial, so many at a time; ``since``: only those with an entry recorded since then."""
    last, conditions = "", wanted.conditions()
    if since is not None:
        ends = (_ENTRY.unit == _UNIT.serial) & (_ENTRY.seq == _UNIT.entries)
        conditions.append(select(_ENTRY.seq).where(ends, _ENTRY.recorded >= time_text(since)).exists())
    while True:
        asked = select(tables.unit).where(_UNIT.serial > last, *conditions)
        rows = records.ask(asked.order_by(_UNIT.serial).limit(size)).all()
        if rows:
            yield tuple(Unit(*tuple(row)) for row in rows)
            last = rows[-1].serial
        if len(rows) < size:
            return


def newest(records: Records, wanted: Wanted, count: int) -> tuple[Unit, ...]:
    """The units meant that were issued last, the last one first."""
    asked = select(tables.unit).where(*wanted.conditions())
    asked = asked.order_by(_UNIT.issued.desc(), _UNIT.serial.desc()).limit(count)
    return tuple(Unit(*tuple(row)) for row in records.ask(asked))


def waiting(records: Records, states: Collection[str], issued_before: datetime) -> tuple[Unit, ...]:
    """The units in one of these states that were issued before that moment, oldest first."""
    asked = select(tables.unit).where(_UNIT.state.in_(states), _UNIT.issued < issued_before)
    return tuple(Unit(*tuple(row)) for row in records.ask(asked.order_by(_UNIT.issued, _UNIT.serial)))


def entries_of(
    records: Records,
    units: Sequence[Unit],
    *,
    kinds: Collection[str] | None = None,
    slots: Collection[str] | None = None,
    besides: Collection[str] = (),
) -> Iterator[tuple[Unit, tuple[Entry, ...]]]:
    """Each unit with its entries in order, narrowed to what is asked.

    Args:
        records: where they are kept.
        units: whose entries; given back in the order of their serials, without those that have none.
        kinds: entries of these kinds only; None: of every kind.
        slots: entries of these slots only, besides those of the kinds ``besides``; None: of every slot.
        besides: kinds that come whatever their slot; not the daily ones (:data:`tables.RARE`).
    """
    by_serial = {unit.serial: unit for unit in units}
    for first in range(0, len(units), PIECE):
        asked = select(tables.entry).order_by(_ENTRY.unit, _ENTRY.seq)
        asked = asked.where(_ENTRY.unit.in_([unit.serial for unit in units[first : first + PIECE]]))
        if kinds is not None:
            asked = asked.where(_ENTRY.kind.in_(sorted(kinds)))
        rows = (row for one in _narrowed(asked, slots, besides) for row in records.ask(one))
        kept = sorted((Kept(*tuple(row)) for row in rows), key=lambda one: (one.unit, one.seq))
        for serial, own in groupby(kept, key=lambda one: one.unit):
            yield by_serial[serial], tuple(to_entry(row) for row in own)


def _narrowed(
    asked: Select[Any], slots: Collection[str] | None, besides: Collection[str]
) -> Iterator[Select[Any]]:
    """One question for the slots, one for the kinds besides: each has its index, both together have none."""
    if slots is None:
        yield asked
        return
    named = sorted(slots)
    yield asked.where(_ENTRY.slot.in_(named))
    yield asked.where(
        _ENTRY.kind.in_(sorted(besides)), tables.RARE, or_(_ENTRY.slot.is_(None), _ENTRY.slot.not_in(named))
    )


def since(records: Records, kinds: Collection[str], moment: datetime) -> tuple[Entry, ...]:
    """The entries of these kinds recorded at or after that moment, by unit; struck ones too.

    None of the daily kinds: those are no question over all units (:data:`tables.RARE`).
    """
    asked = select(tables.entry).where(
        _ENTRY.kind.in_(sorted(kinds)), tables.RARE, _ENTRY.recorded >= time_text(moment)
    )
    rows = records.ask(asked.order_by(_ENTRY.unit, _ENTRY.seq))
    return tuple(to_entry(Kept(*tuple(row))) for row in rows)
