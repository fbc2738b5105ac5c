"""Which units share a gauge, a lot, a part, a person, a customer or an order; how much gauges are used."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from traveler.record.entry import Entry, reference_value, standing_entries
from traveler.record.records import Records, Unit
from traveler.shop.edit import registered
from traveler.shop.gauges import GaugeToday, due_within, gauge_today
from traveler.shop.session import Session
from traveler.trace.history import whereabouts
from traveler.trace.queries import GaugeUse, used_gauges

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
        named = (
            entry.slot for entry in self.entries if entry.slot is not None and entry.seq not in self.struck
        )
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
            "entries": [entry.seq for entry in self.entries],
            "struck": list(self.struck),
        }


def where_used(records: Records, kind: str, value: str) -> tuple[Use, ...]:
    """The units with an entry that refers to the value, by serial; struck ones are told apart, not left out.

    ``kind`` is one of ``gauge``, ``lot``, ``part_serial``, ``person``, ``customer``, ``order``. Case and
    spacing of ``value`` do not matter.
    """
    named = records.where_used(kind, value)
    found = {unit: tuple(entries) for unit, entries in groupby(named, key=lambda row: row.unit)}
    steps = _by_unit(records.entries_of_kinds(found, STEPS))
    return tuple(
        _use(unit, found[unit.serial], steps.get(unit.serial, ()))
        for unit in records.units_using(kind, value)
    )


def _by_unit(entries: Sequence[Entry]) -> dict[str, tuple[Entry, ...]]:
    return {unit: tuple(own) for unit, own in groupby(entries, key=lambda entry: entry.unit)}


def _use(unit: Unit, found: Sequence[Entry], steps: Sequence[Entry]) -> Use:
    """``steps`` are the unit's entries of the kinds :data:`STEPS`: which were struck, and where it went."""
    merged = {entry.seq: entry for entry in (*found, *steps)}
    entries = tuple(merged[seq] for seq in sorted(merged))
    stand = {entry.seq for entry in standing_entries(entries)}
    struck = tuple(serial.seq for serial in found if serial.seq not in stand)
    return Use(unit, whereabouts(unit.state, entries), tuple(found), struck)


NEVER = GaugeUse()


def gauges_listed(session: Session, ids: Sequence[str] = ()) -> list[tuple[GaugeToday, GaugeUse]]:
    """The gauges of these ids (all of them without) in the order of the register, with their use.

    Raises:
        CannotDo: there is no gauge of one of the ids.
    """
    shop = session.shop
    gauges = [registered(shop.gauges, gauge_id) for gauge_id in ids] if ids else list(shop.gauges.gauges)
    with session.store.reading() as records:
        used = used_gauges(records)
    soon = shop.settings.gauge_due_days
    return [
        (gauge_today(gauge, session.now, shop.zone, soon), used.get(reference_value(gauge.id), NEVER))
        for gauge in gauges
    ]


def gauges_due(session: Session, days: int) -> list[GaugeToday]:
    """The gauges in use that are due within so many days, the most urgent first."""
    return due_within(session.shop.gauges.gauges, session.now, session.shop.zone, days)
