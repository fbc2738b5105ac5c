"""Which units share a gauge, a lot, a part, a person, a customer or an order, and where they are now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from traveler.record.entry import Entry
from traveler.record.records import Records
from traveler.record.unit import Unit
from traveler.trace.whereabouts import whereabouts
from traveler.verdict.counting import counting

STEPS = ("struck", "placed", "shipped")
"""The kinds of entries that say what still counts and where a unit is: all that is read besides the finds."""


@dataclass(frozen=True, slots=True)
class Use:
    """One unit that a value occurs in: the entries that name it, and which of those are struck out."""

    unit: Unit
    where: str
    entries: tuple[Entry, ...]
    struck: tuple[int, ...]

    @property
    def stands(self) -> bool:
        """Whether at least one entry that names the value is not struck out."""
        return len(self.struck) < len(self.entries)

    @property
    def slots(self) -> tuple[str, ...]:
        """The slots in which it stands, each once, in the order of the entries."""
        named = (one.slot for one in self.entries if one.slot is not None and one.seq not in self.struck)
        return tuple(dict.fromkeys(named))

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {
            "serial": self.unit.serial,
            "product": self.unit.product,
            "revision": self.unit.revision,
            "variant": self.unit.variant,
            "order": self.unit.order,
            "state": self.unit.state,
            "where": self.where,
            "stands": self.stands,
            "slots": list(self.slots),
            "entries": [one.seq for one in self.entries],
            "struck": list(self.struck),
        }


def where_used(records: Records, kind: str, value: str) -> tuple[Use, ...]:
    """The units with an entry that refers to the value, by serial; struck ones are told apart, not left out.

    ``kind`` is one of ``gauge``, ``lot``, ``part_serial``, ``person``, ``customer``, ``order``. Case and
    spacing of ``value`` do not matter.
    """
    named = records.where_used(kind, value)
    found = {unit: tuple(entries) for unit, entries in groupby(named, key=lambda one: one.unit)}
    steps = _by_unit(records.entries_of_kinds(found, STEPS))
    return tuple(
        _use(unit, found[unit.serial], steps.get(unit.serial, ()))
        for unit in records.units_using(kind, value)
    )


def _by_unit(entries: Sequence[Entry]) -> dict[str, tuple[Entry, ...]]:
    return {unit: tuple(own) for unit, own in groupby(entries, key=lambda one: one.unit)}


def _use(unit: Unit, found: Sequence[Entry], steps: Sequence[Entry]) -> Use:
    """``steps`` are the unit's entries of the kinds :data:`STEPS`: which were struck, and where it went."""
    merged = {one.seq: one for one in (*found, *steps)}
    entries = tuple(merged[seq] for seq in sorted(merged))
    stand = {one.seq for one in counting(entries)}
    struck = tuple(one.seq for one in found if one.seq not in stand)
    return Use(unit, whereabouts(unit.state, entries), tuple(found), struck)
