"""Light entries: many units at once, without a model for each entry; neighbors of a unit."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime
from functools import lru_cache
from typing import Any, NamedTuple

from pydantic_core import from_json
from sqlalchemy import ColumnElement, Select, and_, or_, select

from traveler.record import tables
from traveler.record.entry import struck_out
from traveler.record.errors import StoreDamaged
from traveler.record.records import Records, Unit
from traveler.record.stored import time_of

AT_ONCE = 400
"""Units asked about in one statement; SQLite takes no more than some thousand parameters."""

_ENTRY = tables.entry_table.c
_COLUMNS = (_ENTRY.unit, _ENTRY.seq, _ENTRY.at, _ENTRY.by, _ENTRY.slot, _ENTRY.kind, _ENTRY.body)


class LightEntry(NamedTuple):
    """One entry, text as stored."""

    unit: str
    seq: int
    at: str
    by: str
    slot: str | None
    kind: str
    body: str

    def says(self) -> Mapping[str, Any]:
        """The body, to be read only; fields with their default are not in it.

        Raises:
            StoreDamaged: it is none.
        """
        said = _said(self.body)
        if said is None:
            raise self.damaged()
        return said

    def moment(self) -> datetime:
        """When it was done, in UTC.

        Raises:
            StoreDamaged: that is not a time.
        """
        try:
            return time_of(self.at)
        except ValueError as problem:
            raise self.damaged() from problem

    def damaged(self) -> StoreDamaged:
        """What is raised where the entry is none."""
        what = f"entry #{self.seq} of {self.unit} cannot be read as an entry"
        return StoreDamaged(what, "run 'traveler records verify' and restore a backup")


@lru_cache(maxsize=65536)
def _said(body: str) -> Mapping[str, Any] | None:
    """A body as a mapping, or None; the same few readings come again on unit after unit, so they are kept."""
    try:
        said = from_json(body)
    except ValueError:
        return None
    return said if isinstance(said, dict) else None


def light_entries(
    records: Records, serials: Collection[str], kinds: Collection[str]
) -> Mapping[str, tuple[LightEntry, ...]]:
    """Serial → the entries of these kinds that are not struck out, by number; units without one are left out.

    Raises:
        StoreDamaged: a strike-out cannot be read as one.
    """
    found: dict[str, list[LightEntry]] = {}
    ordered = sorted(set(serials))
    wanted = tuple({*kinds, "struck"})
    for first in range(0, len(ordered), AT_ONCE):
        rows = records.ask(_asked(ordered[first : first + AT_ONCE], wanted)).all()
        for row in map(LightEntry._make, rows):
            found.setdefault(row.unit, []).append(row)
    return {serial: kept for serial, seen in found.items() if (kept := _standing(seen, kinds))}


def _asked(serials: Sequence[str], kinds: Sequence[str]) -> Select[Any]:
    asked = select(*_COLUMNS).where(_ENTRY.unit.in_(serials), _ENTRY.kind.in_(kinds))
    return asked.order_by(_ENTRY.unit, _ENTRY.seq)


def _standing(seen: Sequence[LightEntry], kinds: Collection[str]) -> tuple[LightEntry, ...]:
    """Those of the kinds that stand."""
    struck = struck_out((entry.seq, entry.kind, _target(entry)) for entry in seen)
    return tuple(entry for entry in seen if entry.kind in kinds and entry.seq not in struck)


def _target(entry: LightEntry) -> int | None:
    """The number of the entry that a strike-out strikes."""
    target = entry.says().get("strikes") if entry.kind == "struck" else None
    return target if isinstance(target, int) else None


BEFORE, AFTER = 50, 50
"""How many units before and after are looked at unless told otherwise."""

_UNIT = tables.unit_table.c


def neighbors(
    records: Records, product: str, around: str, before: int = BEFORE, after: int = AFTER
) -> tuple[tuple[Unit, ...], tuple[Unit, ...]]:
    """At most so many units of the product issued before and after this one, in the order of issue.

    A serial that was never issued has no neighbors.
    """
    middle = records.unit(around)
    if middle is None:
        return (), ()
    earlier = _nearest(records, product, middle, before, earlier=True)
    return earlier[::-1], _nearest(records, product, middle, after, earlier=False)


def _nearest(records: Records, product: str, middle: Unit, count: int, *, earlier: bool) -> tuple[Unit, ...]:
    """The nearest units on one side, nearest first."""
    asked = select(tables.unit_table).where(_UNIT.product == product, _beyond(middle, earlier=earlier))
    order = [column.desc() if earlier else column.asc() for column in (_UNIT.issued, _UNIT.serial)]
    return tuple(Unit(*tuple(row)) for row in records.ask(asked.order_by(*order).limit(count)))


def _beyond(middle: Unit, *, earlier: bool) -> ColumnElement[bool]:
    """Before or after by issue, then serial; the range on ``issued`` alone is what the index serves."""
    issued, serial = middle.issued, middle.serial
    if earlier:
        return and_(_UNIT.issued <= issued, or_(_UNIT.issued < issued, _UNIT.serial < serial))
    return and_(_UNIT.issued >= issued, or_(_UNIT.issued > issued, _UNIT.serial > serial))


def last_readings(seen: Iterable[LightEntry]) -> dict[str, LightEntry]:
    """Slot → the reading of a unit that stands: the last as left; where there is none, the last as found."""
    last: dict[str, LightEntry] = {}
    for reading in seen:
        if reading.kind != "read" or reading.slot is None:
            continue
        held = last.get(reading.slot)
        if held is None or _rank(reading) > _rank(held):
            last[reading.slot] = reading
    return last


def _rank(entry: LightEntry) -> tuple[bool, str, int]:
    return '"as_found":true' not in entry.body, entry.at, entry.seq
