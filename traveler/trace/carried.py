"""What a unit carries that may be a cause: lots, suppliers, gauges, people, week, a value near a limit.

The factors are laid out for counting (:mod:`traveler.trace.carriers`). A lot that was made here is followed
to what it was made of, so that units of two lots from one bad plate share that plate.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import datetime
from fnmatch import fnmatchcase
from functools import lru_cache
from zoneinfo import ZoneInfo

from traveler.definition.plan import Plan
from traveler.measure.limits import parse_limits
from traveler.measure.unreadable import Unreadable
from traveler.record.glance import Glimpse
from traveler.record.neighbours import last_readings
from traveler.record.references import reference_value
from traveler.record.unit import Unit
from traveler.trace.near_limit import zones
from traveler.verdict.planned import Phase, phase_of
from traveler.verdict.weighing import Unfit, understood

KINDS = ("issued", "read", "fitted", "signed", "shipped")
"""The kinds of entries that are looked at."""

SIGNED = {Phase.BUILD: "built by", Phase.FINAL: "inspected by", Phase.CRATING: "crated by"}
"""Part of the work → the attribute of whoever signed it."""

SEASONAL = ("gauge", *SIGNED.values())
"""Attributes whose effect may come and go (:mod:`traveler.trace.periods`)."""

Carried = dict[str, set[str]]


def carries(
    unit: Unit,
    seen: Iterable[Glimpse],
    plan: Plan,
    zone: ZoneInfo,
    *,
    suppliers: Mapping[str, str] | None = None,
    made_of: Mapping[str, Collection[tuple[str, str]]] | None = None,
) -> Carried:
    """The factors of one unit, attribute → values.

    Args:
        unit: the unit.
        seen: its entries of :data:`KINDS` that stand.
        plan: the plan it was issued with.
        zone: the shop's zone, for weeks.
        suppliers: pattern of a lot number → supplier.
        made_of: lot (as looked up) → (part number, lot) of what it was made of.
    """
    found: Carried = {
        "revision": {unit.revision},
        "variant": {unit.variant},
        "week": {week(unit.issued, zone)},
    }
    kept = tuple(seen)
    for one in kept:
        match one.kind:
            case "fitted":
                _fitted(found, one, plan, suppliers or {}, made_of or {})
            case "signed":
                phase = phase_of((one.slot or "").split("/")[0])
                found.setdefault(SIGNED[phase], set()).add(one.by)
            case "shipped":
                if carrier := one.says().get("carrier"):
                    found.setdefault("carrier", set()).add(str(carrier))
            case "read":
                if gauge := one.says().get("gauge"):
                    found.setdefault("gauge", set()).add(str(gauge))
    for slot, one in last_readings(kept).items():
        _near_limits(found, slot, one, plan)
    return found


def week(moment: datetime, zone: ZoneInfo) -> str:
    """The ISO week, in the shop: ``2026-W31``."""
    year, number, _ = moment.astimezone(zone).isocalendar()
    return f"{year}-W{number:02}"


def _fitted(
    found: Carried,
    one: Glimpse,
    plan: Plan,
    suppliers: Mapping[str, str],
    made_of: Mapping[str, Collection[tuple[str, str]]],
) -> None:
    said = one.says()
    if said.get("trace") != "lot":
        return
    lot, step = str(said.get("value", "")), plan.step_of.get(one.slot or "")
    number = said.get("number") or (step.part_number if step is not None else None) or "part"
    found.setdefault(f"lot of {number}", set()).add(lot)
    for pattern, supplier in suppliers.items():
        if fnmatchcase(reference_value(lot), reference_value(pattern)):
            found.setdefault(f"supplier of {number}", set()).add(supplier)
            break
    for material, heat in made_of.get(reference_value(lot), ()):
        found.setdefault(f"lot of {material} in {number}", set()).add(heat)


def _near_limits(found: Carried, slot: str, one: Glimpse, plan: Plan) -> None:
    step = plan.step_of.get(slot)
    if step is None or step.limits is None or step.check is None:
        return
    said = one.says()
    for name in _zones(step.limits.text, str(said.get("value")), said.get("unit")):
        side = name.removeprefix("beyond ")
        if side != name:
            found.setdefault(f"{step.check} beyond the", set()).add(f"{side} limit")
        else:
            found.setdefault(f"{step.check} in the", set()).add(name)


@lru_cache(maxsize=65536)
def _zones(limits: str, value: str, unit: str | None) -> tuple[str, ...]:
    """The zones of a reading in its limits; readings of a shop repeat, so they are kept."""
    try:
        bounds = parse_limits(limits)
    except Unreadable:
        return ()
    read = understood(value, unit, bounds)
    if isinstance(read, Unfit):
        return ()
    return zones(read.to(bounds.unit).value, lower=bounds.lower, upper=bounds.upper)
