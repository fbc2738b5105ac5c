"""The factors of a unit that may be a cause: lots, suppliers, gauges, people, week, a value near a limit."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fnmatch import fnmatchcase
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple
from zoneinfo import ZoneInfo

from traveler.definition.plan import Plan
from traveler.measure.limits import Limits, parse_limits
from traveler.record.entry import reference_value
from traveler.record.light import AT_ONCE, LightEntry, last_readings, light_entries, neighbors
from traveler.record.plans import Plans
from traveler.record.records import Records, Unit
from traveler.shop.session import Session
from traveler.trace.queries import UnitFilter, count_units
from traveler.trace.ranking import FactorsByUnit
from traveler.verdict.plan_index import Phase, phase_of_slot
from traveler.verdict.rows import value_in_unit

ZONES = {"tenth": Fraction(1, 10), "quarter": Fraction(1, 4)}
"""Names of the zones next to a limit, as shares of the tolerance."""


def limit_zones(value: Fraction, limits: Limits) -> tuple[str, ...]:
    """The zones a value lies in: ``beyond upper``, ``upper tenth``, ``upper quarter``, same for lower.

    Zones are shares of :attr:`Limits.span`, and hold the limit itself and what lies beyond it.

    >>> limit_zones(Fraction("0.046"), parse_limits("max 0.05 mm"))
    ('upper tenth', 'upper quarter')
    """
    found = []
    for side, limit, sign in (("upper", limits.upper, 1), ("lower", limits.lower, -1)):
        if limit is None or not limits.span:
            continue
        left = sign * (limit - value)
        found += [f"beyond {side}"] if left < 0 else []
        found += [f"{side} {name}" for name, share in ZONES.items() if left <= share * limits.span]
    return tuple(found)


class Material(NamedTuple):
    """A part number, and the lot or heat of it."""

    number: str
    lot: str

    def as_dict(self) -> dict[str, str]:
        """For JSON."""
        return self._asdict()


def supplier_of(lot: str, suppliers: Mapping[str, str]) -> str | None:
    """The supplier of a lot, by the first pattern of ``suppliers`` that its number fits."""
    name = reference_value(lot)
    fits = (
        supplier for pattern, supplier in suppliers.items() if fnmatchcase(name, reference_value(pattern))
    )
    return next(fits, None)


FACTOR_KINDS = ("issued", "read", "fitted", "signed", "shipped")
"""The kinds of entries that are looked at."""

SIGNED = {Phase.BUILD: "built by", Phase.FINAL: "inspected by", Phase.CRATING: "crated by"}
"""Part of the work → the attribute of the person who signed it."""

SEASONAL = ("gauge", *SIGNED.values())
"""Attributes whose effect may come and go: they count once more for each season."""

UnitFactors = dict[str, set[str]]


def factors_of(
    unit: Unit,
    seen: Iterable[LightEntry],
    plan: Plan,
    zone: ZoneInfo,
    *,
    suppliers: Mapping[str, str] | None = None,
    made_of: Mapping[str, Collection[tuple[str, str]]] | None = None,
) -> UnitFactors:
    """The factors of one unit, attribute → values.

    Args:
        unit: the unit.
        seen: its entries of :data:`FACTOR_KINDS` that stand.
        plan: the plan it was issued with.
        zone: the shop's zone, for weeks.
        suppliers: pattern of a lot number → supplier.
        made_of: lot (as looked up) → (part number, lot) of what it was made of.
    """
    found: UnitFactors = {
        "revision": {unit.revision},
        "variant": {unit.variant},
        "week": {week(unit.issued, zone)},
    }
    kept = tuple(seen)
    for entry in kept:
        match entry.kind:
            case "fitted":
                _fitted(found, entry, plan, suppliers or {}, made_of or {})
            case "signed":
                phase = phase_of_slot(entry.slot)
                found.setdefault(SIGNED[phase], set()).add(entry.by)
            case "shipped":
                if carrier := entry.says().get("carrier"):
                    found.setdefault("carrier", set()).add(str(carrier))
            case "read":
                if gauge := entry.says().get("gauge"):
                    found.setdefault("gauge", set()).add(str(gauge))
    for slot, reading in last_readings(kept).items():
        _near_limits(found, slot, reading, plan)
    return found


def week(moment: datetime, zone: ZoneInfo) -> str:
    """The ISO week, in the shop: ``2026-W31``."""
    year, number, _ = moment.astimezone(zone).isocalendar()
    return f"{year}-W{number:02}"


def _fitted(
    found: UnitFactors,
    entry: LightEntry,
    plan: Plan,
    suppliers: Mapping[str, str],
    made_of: Mapping[str, Collection[tuple[str, str]]],
) -> None:
    said = entry.says()
    if said.get("trace") != "lot":
        return
    lot, number = str(said.get("value", "")), plan.part_number(entry.slot, said.get("number")) or "part"
    found.setdefault(f"lot of {number}", set()).add(lot)
    if supplier := supplier_of(lot, suppliers):
        found.setdefault(f"supplier of {number}", set()).add(supplier)
    for material, heat in made_of.get(reference_value(lot), ()):
        found.setdefault(f"lot of {material} in {number}", set()).add(heat)


def _near_limits(found: UnitFactors, slot: str, reading: LightEntry, plan: Plan) -> None:
    step = plan.step_of.get(slot)
    if step is None or step.limits is None or step.check is None:
        return
    said = reading.says()
    for name in _zones(step.limits.text, str(said.get("value")), said.get("unit")):
        side = name.removeprefix("beyond ")
        if side != name:
            found.setdefault(f"{step.check} beyond the", set()).add(f"{side} limit")
        else:
            found.setdefault(f"{step.check} in the", set()).add(name)


@lru_cache(maxsize=65536)
def _zones(limits: str, value: str, unit: str | None) -> tuple[str, ...]:
    """The zones of a reading in its limits; readings of a shop repeat, so they are cached."""
    found = value_in_unit(value, unit, limits)
    return limit_zones(found, parse_limits(limits)) if found is not None else ()


WINDOW = timedelta(days=91)
STEP = timedelta(days=45)


@lru_cache(maxsize=4096)
def season_starts(day: date) -> tuple[date, ...]:
    """The first days of the windows that hold this day, earlier first.

    The windows start on the same days in every shop.

    >>> [str(day) for day in season_starts(date(2026, 8, 1))]
    ['2026-05-19', '2026-07-03']
    """
    latest = date.fromordinal(day.toordinal() // STEP.days * STEP.days)
    back = range((WINDOW.days - 1) // STEP.days, -1, -1)
    starts = [latest - at * STEP for at in back]
    return tuple(start for start in starts if day < start + WINDOW)


@lru_cache(maxsize=4096)
def span(start: date) -> str:
    """``from 2026-05-19 to 2026-08-17``, both days included."""
    return f"from {start} to {start + WINDOW - timedelta(days=1)}"


def with_seasons(
    units: FactorsByUnit, attributes: Collection[str], days: Mapping[str, date]
) -> FactorsByUnit:
    """The units with the values of those attributes repeated for each window, as ``IND-03 from … to …``.

    Args:
        units: what each unit carries.
        attributes: those whose effect may come and go: gauges, people, machines; lots and revisions have a
        time of
            their own.
        days: when each unit was built; a unit without a day is left as it is.
    """
    return {unit: _with(carried, attributes, days.get(unit)) for unit, carried in units.items()}


def _with(
    carried: Mapping[str, Collection[str]], attributes: Collection[str], day: date | None
) -> Mapping[str, Collection[str]]:
    if day is None:
        return carried
    spans = [span(start) for start in season_starts(day)]
    more = {
        attribute: {
            *carried[attribute],
            *(f"{value} {text}" for value in carried[attribute] for text in spans),
        }
        for attribute in attributes
        if attribute in carried
    }
    return {**carried, **more}


MOST = 5000
"""Units that are looked at; of a product with more, those issued nearest to the one in question."""


@dataclass(frozen=True, slots=True)
class Population:
    """Units by serial with what they carry; ``of`` counts all units of the product there are."""

    units: Mapping[str, Unit]
    carried: FactorsByUnit
    of: int

    @property
    def whole(self) -> bool:
        """Whether no unit of the product was left out."""
        return len(self.units) == self.of

    def among(self, serials: Collection[str]) -> FactorsByUnit:
        """What those of these serials carry that are in the population."""
        return {serial: self.carried[serial] for serial in serials if serial in self.carried}


def population(session: Session, records: Records, around: Unit, *, most: int = MOST) -> Population:
    """The units of a product issued nearest to one of them, before and after it, with what they carry."""
    product, serial = around.product, around.serial
    after = neighbors(records, product, serial, 0, most // 2)[1]
    before = neighbors(records, product, serial, most - 1 - len(after), 0)[0]
    units = {unit.serial: unit for unit in (*before, around, *after)}
    of = count_units(records, UnitFilter(product)) if len(units) >= most else len(units)
    return Population(units, factors_by_unit(session, records, tuple(units.values())), max(of, len(units)))


def factors_by_unit(session: Session, records: Records, units: Sequence[Unit]) -> FactorsByUnit:
    """Serial → what the unit carries, gauges and people once more for each season.

    Some hundred units are looked at at a time: all entries of thousands would not fit a small computer.
    """
    found: dict[str, Mapping[str, Collection[str]]] = {}
    for first in range(0, len(units), AT_ONCE):
        some = units[first : first + AT_ONCE]
        seen = light_entries(records, [unit.serial for unit in some], FACTOR_KINDS)
        found.update(factors_seen(session, records, some, seen))
    return found


def factors_seen(
    session: Session, records: Records, units: Sequence[Unit], seen: Mapping[str, Sequence[LightEntry]]
) -> FactorsByUnit:
    """As :func:`factors_by_unit`, from entries that were looked at before."""
    shop = session.shop
    fitted = (entry.says() for entries in seen.values() for entry in entries if entry.kind == "fitted")
    made = made_of(records, (str(said["value"]) for said in fitted if said.get("trace") == "lot"))
    carried: dict[str, UnitFactors] = {}
    plans = Plans(records)
    for unit in units:
        entries = seen.get(unit.serial, ())
        plan = plans.seen(entries)
        if plan is None:
            continue
        carried[unit.serial] = factors_of(
            unit, entries, plan, shop.zone, suppliers=shop.settings.suppliers, made_of=made
        )
    days = {unit.serial: session.day(unit.issued) for unit in units}
    return with_seasons(carried, SEASONAL, days)


def made_of(records: Records, lots: Iterable[str]) -> Mapping[str, tuple[Material, ...]]:
    """Lot made here (as looked up) → (part number, lot) of what it was made of."""
    names = sorted({reference_value(lot) for lot in lots})
    known = {name: unit for name in names if (unit := Records.unit(records, name)) is not None}
    inside = light_entries(records, [unit.serial for unit in known.values()], ("issued", "fitted"))
    plans = Plans(records)
    found = {name: inside.get(unit.serial, ()) for name, unit in known.items()}
    return {name: _materials(plans.seen(entries), entries) for name, entries in found.items()}


def _materials(plan: Plan | None, entries: Sequence[LightEntry]) -> tuple[Material, ...]:
    found = []
    for entry in entries:
        if entry.kind == "fitted":
            said, named = entry.says(), entry.says().get("number")
            number = plan.part_number(entry.slot, named) if plan is not None else named
            found.append(Material(str(number or "part"), str(said.get("value", ""))))
    return tuple(dict.fromkeys(found))
