"""Which units share a gauge, a lot, a part, a person, a customer or an order; how much gauges are used."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import ClassVar

from traveler.finding import CannotDo
from traveler.record import tables
from traveler.record.entry import UNSTRIKABLE, Entry, reference_value, standing_entries, struck_by
from traveler.record.records import Records, Unit
from traveler.record.stored import time_of
from traveler.result import Result
from traveler.shop.gauges import GaugeToday, due_within, gauge_today
from traveler.shop.session import Session
from traveler.text import did_you_mean
from traveler.trace.history import STANDING_STILL, Whereabouts, whereabouts
from traveler.trace.queries import GaugeUse, referring, used_gauges

STEPS = ("struck", "placed", "shipped")
"""The kinds of entries that say what still counts and where a unit is: all that is read besides the finds."""


@dataclass(frozen=True, slots=True)
class Use(Result):
    """One unit that a value occurs in: the entries that name it, and which of those are struck out."""

    json_keys: ClassVar[str] = (
        "serial=unit.serial product=unit.product revision=unit.revision variant=unit.variant "
        "order=unit.order state=unit.state where=place.text stands slots entries=named struck"
    )

    unit: Unit
    place: Whereabouts
    entries: tuple[Entry, ...]
    struck: tuple[int, ...]

    @property
    def named(self) -> tuple[int, ...]:
        """The numbers of the entries."""
        return tuple(entry.seq for entry in self.entries)

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


def where_used(records: Records, kind: str, value: str) -> tuple[Use, ...]:
    """The units with an entry that refers to the value, by serial; struck ones are listed apart.

    ``kind`` is one of ``gauge``, ``lot``, ``part_serial``, ``person``, ``customer``, ``order``. Case and
    spacing of ``value`` do not matter.
    """
    found = by_unit(records.where_used(kind, value))
    steps = by_unit(records.entries_of_kinds(found, STEPS))
    return tuple(
        _use(unit, found[unit.serial], steps.get(unit.serial, ()))
        for unit in records.units_using(kind, value)
    )


def named_value(session: Session, records: Records, kind: str, value: str) -> None:
    """Refuses a gauge, lot, part, person, customer or order that neither the records nor the shop know.

    An unknown name must not read as "no unit is affected". ``kind`` is as in :func:`where_used`.

    Raises:
        CannotDo: nothing is named so; the hint has the nearest names.
    """
    registers: dict[str, Iterable[str]] = {
        "gauge": session.shop.gauges.by_id, "person": session.shop.people.by_id
    }  # fmt: skip
    spelled = {reference_value(name): name for name in registers.get(kind, ())}
    known = {text: spelled.get(text, text) for text in (*spelled, *records.values(kind))}
    wanted = reference_value(value)
    if wanted in known or (kind == "lot" and records.unit(wanted) is not None):
        return
    what = f"the records name no {kind.replace('_', ' ')} '{value.strip()}'"
    raise CannotDo(what, did_you_mean(value, known.values()))


def units_with(
    records: Records, kind: str, value: str, during: Callable[[datetime], bool] | None = None
) -> frozenset[str]:
    """Serials of the units with an entry about the value that stands, done ``during`` a time (None: ever).

    Only the index is read, so a gauge with many thousand readings may be asked about.
    """
    ref, entry = tables.reference_table.c, tables.entry_table.c
    used: dict[str, set[int]] = {}
    for row in records.ask(referring(kind, value, ref.unit, ref.seq, entry.at)):
        if during is None or during(time_of(row.at)):
            used.setdefault(row.unit, set()).add(row.seq)
    struck = by_unit(records.entries_of_kinds(used, ("struck", *UNSTRIKABLE)))
    return frozenset(unit for unit, seqs in used.items() if not seqs <= set(struck_by(struck.get(unit, ()))))


def units_with_customers(records: Records, units: Iterable[Unit]) -> frozenset[str]:
    """Serials of those units that customers have."""
    shipped = [unit for unit in units if unit.state == "shipped"]
    halted = {unit.serial: unit for unit in units if unit.state in STANDING_STILL}
    steps = by_unit(records.entries_of_kinds(halted, STEPS))
    gone = (serial for serial, own in steps.items() if whereabouts(halted[serial].state, own).with_customer)
    return frozenset((*(unit.serial for unit in shipped), *gone))


def by_unit(entries: Iterable[Entry]) -> dict[str, tuple[Entry, ...]]:
    """Serial → its entries; they are given by unit and number."""
    return {unit: tuple(own) for unit, own in groupby(entries, key=lambda entry: entry.unit)}


def _use(unit: Unit, found: Sequence[Entry], steps: Sequence[Entry]) -> Use:
    """``steps`` are the unit's entries of the kinds :data:`STEPS`: which were struck, and where it went."""
    merged = {entry.seq: entry for entry in (*found, *steps)}
    entries = tuple(merged[seq] for seq in sorted(merged))
    stand = {entry.seq for entry in standing_entries(entries)}
    struck = tuple(entry.seq for entry in found if entry.seq not in stand)
    return Use(unit, whereabouts(unit.state, entries), tuple(found), struck)


NEVER = GaugeUse()


def gauges_listed(session: Session, ids: Sequence[str] = ()) -> list[tuple[GaugeToday, GaugeUse]]:
    """The gauges of these ids (all of them without) in the order of the register, with their use.

    Raises:
        CannotDo: there is no gauge of one of the ids.
    """
    shop = session.shop
    gauges = [shop.gauges.named(gauge_id) for gauge_id in ids] if ids else list(shop.gauges.gauges)
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
