"""Questions over many units at once, asked in pieces, so that memory does not grow with the store."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any, Protocol, TypeVar

from sqlalchemy import Select, func, or_, select

from traveler.finding import CannotDo
from traveler.record import tables
from traveler.record.entry import Entry, reference_value
from traveler.record.records import Records, Unit
from traveler.record.stored import StoredRow, time_text, to_entry
from traveler.result import Result
from traveler.text import did_you_mean

PIECE = 200
"""Units asked for at a time."""

_ENTRY = tables.entry_table.c
_UNIT = tables.unit_table.c


_Item = TypeVar("_Item")


class Progress(Protocol):
    """Passes items on one by one and shows how far it is."""

    def __call__(self, items: Iterable[_Item], total: int) -> Iterator[_Item]:
        """The items; ``total`` is how many there are."""


def no_progress(items: Iterable[_Item], total: int) -> Iterator[_Item]:  # noqa: ARG001 - the shape of Progress
    """The items, and nothing is shown."""
    yield from items


@dataclass(frozen=True, slots=True)
class UnitFilter:
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
    asked = select(tables.definition_table.c.product).distinct().order_by(tables.definition_table.c.product)
    return tuple(str(row[0]) for row in records.ask(asked))


def count_units(records: Records, wanted: UnitFilter) -> int:
    """How many units are meant."""
    asked = select(func.count()).select_from(tables.unit_table).where(*wanted.conditions())
    return int(records.ask(asked).scalar_one())


def count_issued(records: Records, wanted: UnitFilter) -> int:
    """How many units are meant, where a product, variant or revision is named that must be there.

    Raises:
        CannotDo: a product is named, and no such unit was ever issued.
    """
    total = count_units(records, wanted)
    if total or wanted.product is None:
        return total
    known = products(records)
    if wanted.product not in known:
        what = f"no unit of '{wanted.product}' was ever issued"
        raise CannotDo(what, did_you_mean(wanted.product, known))
    named = {"variant": wanted.variant, "revision": wanted.revision}
    said = " and ".join(f"{name} '{value}'" for name, value in named.items() if value is not None)
    what = f"no unit of {wanted.product} was issued{f' with {said}' if said else ''}"
    raise CannotDo(what)


def unit_batches(
    records: Records, wanted: UnitFilter, *, since: datetime | None = None, size: int = PIECE
) -> Iterator[tuple[Unit, ...]]:
    """The units by serial, so many at a time; ``since``: only those with an entry recorded since then."""
    last, conditions = "", wanted.conditions()
    if since is not None:
        ends = (_ENTRY.unit == _UNIT.serial) & (_ENTRY.seq == _UNIT.entries)
        conditions.append(select(_ENTRY.seq).where(ends, _ENTRY.recorded >= time_text(since)).exists())
    while True:
        asked = select(tables.unit_table).where(_UNIT.serial > last, *conditions)
        rows = records.ask(asked.order_by(_UNIT.serial).limit(size)).all()
        if rows:
            yield tuple(Unit(*tuple(row)) for row in rows)
            last = rows[-1].serial
        if len(rows) < size:
            return


def newest_units(records: Records, wanted: UnitFilter, count: int) -> tuple[Unit, ...]:
    """The units meant that were issued last, the last one first."""
    asked = select(tables.unit_table).where(*wanted.conditions())
    asked = asked.order_by(_UNIT.issued.desc(), _UNIT.serial.desc()).limit(count)
    return tuple(Unit(*tuple(row)) for row in records.ask(asked))


def waiting_units(records: Records, states: Collection[str], issued_before: datetime) -> tuple[Unit, ...]:
    """The units in one of these states that were issued before that moment, oldest first."""
    asked = select(tables.unit_table).where(_UNIT.state.in_(states), _UNIT.issued < issued_before)
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
        asked = select(tables.entry_table).order_by(_ENTRY.unit, _ENTRY.seq)
        asked = asked.where(_ENTRY.unit.in_([unit.serial for unit in units[first : first + PIECE]]))
        if kinds is not None:
            asked = asked.where(_ENTRY.kind.in_(sorted(kinds)))
        rows = (row for item in _narrowed(asked, slots, besides) for row in records.ask(item))
        kept = sorted((StoredRow(*tuple(row)) for row in rows), key=lambda entry: (entry.unit, entry.seq))
        for serial, own in groupby(kept, key=lambda row: row.unit):
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


def entries_since(records: Records, kinds: Collection[str], moment: datetime) -> tuple[Entry, ...]:
    """The entries of these kinds recorded at or after that moment, by unit; struck ones too.

    Only rare kinds may be asked for (:data:`tables.RARE`); the daily ones are too many.
    """
    asked = select(tables.entry_table).where(
        _ENTRY.kind.in_(sorted(kinds)), tables.RARE, _ENTRY.recorded >= time_text(moment)
    )
    rows = records.ask(asked.order_by(_ENTRY.unit, _ENTRY.seq))
    return tuple(to_entry(StoredRow(*tuple(row))) for row in rows)


_REF = tables.reference_table.c


@dataclass(frozen=True, slots=True)
class GaugeUse(Result):
    """So many readings, struck ones too, of so many units."""

    readings: int = 0
    units: int = 0


def used_gauges(records: Records) -> Mapping[str, GaugeUse]:
    """Gauge (in capitals) → its use, for every gauge that was ever read with."""
    counted = select(_REF.value, func.count(), func.count(_REF.unit.distinct()))
    asked = counted.where(_REF.kind == "gauge").group_by(_REF.value)
    rows: list[Any] = list(records.ask(asked))
    return {str(gauge): GaugeUse(readings, units) for gauge, readings, units in rows}


def referring(kind: str, value: str, *columns: Any) -> Select[Any]:
    """The question for these columns of every entry that refers to the value, struck ones too."""
    joined = (_REF.unit == _ENTRY.unit) & (_REF.seq == _ENTRY.seq)
    asked = select(*columns).join_from(tables.reference_table, tables.entry_table, joined)
    return asked.where(_REF.kind == kind, _REF.value == reference_value(value))


def used_since(records: Records, gauge: str, since: datetime) -> GaugeUse:
    """The use of a gauge from a moment on."""
    asked = referring("gauge", gauge, func.count(), func.count(_REF.unit.distinct()))
    row: Any = records.ask(asked.where(_ENTRY.at >= time_text(since))).one()
    return GaugeUse(*row)


def read_with(records: Records, gauge: str, since: datetime | None, until: datetime) -> dict[str, set[int]]:
    """Unit → numbers of its entries that were read with the gauge, from ``since`` on and before ``until``.

    By when it was read, not recorded; struck ones are among them; by serial.
    """
    asked = referring("gauge", gauge, _REF.unit, _REF.seq).where(_ENTRY.at < time_text(until))
    if since is not None:
        asked = asked.where(_ENTRY.at >= time_text(since))
    found: dict[str, set[int]] = {}
    rows: Any = records.ask(asked.order_by(_REF.unit, _REF.seq))
    for unit, seq in rows:
        found.setdefault(str(unit), set()).add(int(seq))
    return found
