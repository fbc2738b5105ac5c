"""The units a cause is looked for among, and what each carries: fetched in bulk, laid out for counting."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select

from traveler.definition.plan import Plan
from traveler.jobs.office import Office
from traveler.jobs.plans_of import Plans
from traveler.record import tables
from traveler.record.glance import Glimpse, glance
from traveler.record.records import Records
from traveler.record.references import reference_value
from traveler.record.unit import Unit
from traveler.trace.carried import KINDS, SEASONAL, Carried, carries
from traveler.trace.carriers import Units
from traveler.trace.periods import with_periods

MOST = 5000
"""Units that are looked at; of a product with more, those issued last."""


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


def population(
    office: Office, records: Records, product: str, *, most: int = MOST, always: Collection[str] = ()
) -> Population:
    """The units of a product issued last, and ``always`` those named, with what they carry."""
    column = tables.unit.c
    asked = select(tables.unit).where(column.product == product)
    asked = asked.order_by(column.issued.desc(), column.serial.desc())
    rows = [Unit(*tuple(row)) for row in records.ask(asked.limit(most + 1))]
    of = len(rows) if len(rows) <= most else _count(records, product)
    units = {one.serial: one for one in rows[:most]}
    for serial in always:
        if serial not in units and (missing := records.unit(serial)) is not None:
            units[serial] = missing
    return Population(units, carried_by(office, records, tuple(units.values())), max(of, len(units)))


def _count(records: Records, product: str) -> int:
    from sqlalchemy import func

    asked = select(func.count()).where(tables.unit.c.product == product)
    return int(records.ask(asked).scalar_one())


def carried_by(office: Office, records: Records, units: Sequence[Unit]) -> Units:
    """Serial → what the unit carries, gauges and people once more for each season."""
    seen = glance(records, [one.serial for one in units], KINDS)
    return carried_in(office, records, units, seen)


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
