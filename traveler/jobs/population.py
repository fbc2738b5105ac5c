"""The units a cause is looked for among, and what each carries: fetched in bulk, laid out for counting."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import func, select

from traveler.definition.plan import Plan
from traveler.jobs.office import Office
from traveler.jobs.plans_of import Plans
from traveler.record import tables
from traveler.record.glance import AT_ONCE, Glimpse, glance
from traveler.record.neighbours import neighbours
from traveler.record.records import Records
from traveler.record.references import reference_value
from traveler.record.unit import Unit
from traveler.trace.carried import KINDS, SEASONAL, Carried, carries
from traveler.trace.carriers import Units
from traveler.trace.periods import with_periods

MOST = 5000
"""Units that are looked at; of a product with more, those issued nearest to the one in question."""


@dataclass(frozen=True, slots=True)
class Population:
    """Units by serial with what they carry; ``of`` counts all units of the product there are."""

    units: Mapping[str, Unit]
    carried: Units
    of: int

    @property
    def whole(self) -> bool:
        """Whether no unit of the product was left out."""
        return len(self.units) == self.of

    def among(self, serials: Collection[str]) -> Units:
        """What those of these serials carry that are in the population."""
        return {serial: self.carried[serial] for serial in serials if serial in self.carried}


def population(office: Office, records: Records, around: Unit, *, most: int = MOST) -> Population:
    """The units of a product issued nearest to one of them, before and after it, with what they carry."""
    product, serial = around.product, around.serial
    after = neighbours(records, product, serial, 0, most // 2)[1]
    before = neighbours(records, product, serial, most - 1 - len(after), 0)[0]
    units = {one.serial: one for one in (*before, around, *after)}
    of = _count(records, product) if len(units) >= most else len(units)
    return Population(units, carried_by(office, records, tuple(units.values())), max(of, len(units)))


def _count(records: Records, product: str) -> int:
    asked = select(func.count()).where(tables.unit.c.product == product)
    return int(records.ask(asked).scalar_one())


def carried_by(office: Office, records: Records, units: Sequence[Unit]) -> Units:
    """Serial → what the unit carries, gauges and people once more for each season.

    Some hundred units are looked at at a time: all entries of thousands would not fit a small computer.
    """
    found: dict[str, Mapping[str, Collection[str]]] = {}
    for first in range(0, len(units), AT_ONCE):
        some = units[first : first + AT_ONCE]
        seen = glance(records, [one.serial for one in some], KINDS)
        found.update(carried_in(office, records, some, seen))
    return found


def carried_in(
    office: Office, records: Records, units: Sequence[Unit], seen: Mapping[str, Sequence[Glimpse]]
) -> Units:
    """As :func:`carried_by`, from entries that were looked at before."""
    shop = office.shop
    made = made_of(records, seen)
    carried: dict[str, Carried] = {}
    plans = Plans(records)
    for unit in units:
        entries = seen.get(unit.serial, ())
        plan = plans.seen(entries)
        if plan is None:
            continue
        carried[unit.serial] = carries(
            unit, entries, plan, shop.zone, suppliers=shop.settings.suppliers, made_of=made
        )
    days = {one.serial: office.day(one.issued) for one in units}
    return with_periods(carried, SEASONAL, days)


def made_of(
    records: Records, seen: Mapping[str, Sequence[Glimpse]]
) -> Mapping[str, tuple[tuple[str, str], ...]]:
    """Lot made here (as looked up) → (part number, lot) of what it was made of."""
    fitted = (one for entries in seen.values() for one in entries if one.kind == "fitted")
    lots = {str(said["value"]) for one in fitted if (said := one.says()).get("trace") == "lot"}
    names = {reference_value(lot): lot for lot in lots}
    known = {name: unit for name in sorted(names) if (unit := Records.unit(records, name)) is not None}
    inside = glance(records, [one.serial for one in known.values()], ("issued", "fitted"))
    plans = Plans(records)
    found = {name: inside.get(unit.serial, ()) for name, unit in known.items()}
    return {name: _materials(plans.seen(entries), entries) for name, entries in found.items()}


def _materials(plan: Plan | None, entries: Sequence[Glimpse]) -> tuple[tuple[str, str], ...]:
    found = []
    for one in entries:
        if one.kind == "fitted":
            said, step = one.says(), plan.step_of.get(one.slot or "") if plan is not None else None
            number = said.get("number") or (step.part_number if step is not None else None) or "part"
            found.append((str(number), str(said.get("value", ""))))
    return tuple(dict.fromkeys(found))
