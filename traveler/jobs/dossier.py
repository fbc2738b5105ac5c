"""Gathering a dossier: one view of the records, look-ups by index, no more than a window of neighbours."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase

from sqlalchemy import select

from traveler.jobs.arrival import compare_arrival
from traveler.jobs.judge import Judged, judge
from traveler.jobs.office import Office
from traveler.jobs.plans_of import Plans
from traveler.jobs.population import carried_in, made_of
from traveler.record import tables
from traveler.record.entry import Entry, Photographed, Shipped
from traveler.record.glance import Glimpse, glance
from traveler.record.neighbours import last_readings, neighbours
from traveler.record.records import Records
from traveler.record.references import reference_value
from traveler.record.unit import Unit
from traveler.trace.carried import KINDS
from traveler.trace.cases import cases_of
from traveler.trace.dossier.around import gauges_of, people_of
from traveler.trace.dossier.life import life_of
from traveler.trace.dossier.parts import LotTrail, lots_in, parts_of
from traveler.trace.dossier.readings import Key, Neighbour, in_unit, keys_of, readings_shown
from traveler.trace.dossier.summary import Counts, remarks_of
from traveler.trace.dossier.whole import CaseShown, Dossier, OtherUnit, PhotoShown
from traveler.trace.sharing import rank_shared
from traveler.trace.where_used import STEPS
from traveler.trace.whereabouts import whereabouts
from traveler.verdict.planned import planned

BEFORE, AFTER = 25, 25
"""Neighbours a reading is set among, and complaints are counted among."""

MOST_COMPLAINTS = 500
"""The last so many complaints are looked at for others like this one."""

MOST_OTHERS = 40
"""Other units that are listed with where they are."""

SHIPPING = frozenset({"released", "crated", "placed", "shipped"})


@dataclass(frozen=True, slots=True)
class Around:
    """The window: units before and after in the order of issue, and what was seen of them and this one."""

    before: tuple[Unit, ...]
    after: tuple[Unit, ...]
    seen: Mapping[str, Sequence[Glimpse]]


def dossier(office: Office, records: Records, serial: str) -> Dossier:
    """Everything about a unit, for :mod:`traveler.jobs.dossier_files` to write.

    Raises:
        CannotDo: no unit of this serial was issued here.
        StoreDamaged: its records cannot be read any more.
    """
    judged = judge(office, records, serial)
    around = _around(records, judged)
    shown = _cases(office, judged)
    alike = _alike(records, shown, serial)
    trails = {lot: _trail(office, records, lot, serial, alike) for lot in lots_in(judged.case)}
    readings = readings_shown(judged.case, judged.verdict, _readings_around(records, judged, around))
    parts, gauges = parts_of(judged.case, trails), gauges_of(judged.case)
    counts = _count(office, records, judged, around, alike, bool(shown))
    life = life_of(judged.unit, judged.case)
    body = next((one.body for one in reversed(judged.case.standing) if isinstance(one.body, Shipped)), None)
    others = _others(records, judged, trails, alike)
    return Dossier(
        unit=judged.unit,
        title=judged.plan.title,
        variant=judged.plan.variant_title or judged.plan.variant,
        where=whereabouts(judged.unit.state, judged.entries),
        customer=body.customer if body is not None else "",
        shipped=next((one.day for one in reversed(life) if one.kind == "shipped" and not one.struck), ""),
        cases=shown,
        remarks=remarks_of(judged.case, shown, readings, parts, gauges, counts),
        others=others,
        told=_told(counts, around),
        contain=_contain(trails, shown),
        readings=readings,
        parts=parts,
        gauges=gauges,
        people=people_of(judged.case),
        photos=tuple(_photos(records, judged)),
        shipping=tuple(one for one in life if one.kind in SHIPPING and not one.struck),
        life=life,
        before=len(around.before),
        after=len(around.after),
    )


def _around(records: Records, judged: Judged) -> Around:
    unit = judged.unit
    before, after = neighbours(records, unit.product, unit.serial, BEFORE, AFTER)
    serials = [one.serial for one in (*before, unit, *after)]
    return Around(before, after, glance(records, serials, KINDS))


def _readings_around(
    records: Records, judged: Judged, around: Around
) -> Mapping[Key, tuple[Sequence[Neighbour], Sequence[Neighbour]]]:
    """What is compared → the same readings before and after, in the unit of the limits.

    On units of another definition or variant the same check may stand in another slot, and the same slot may
    be another check: readings are brought together by check, position and limits.
    """
    mine = planned(judged.plan)
    limits = {
        key: mine.limits.get(judged.plan.step_of[slot].id) for slot, key in keys_of(judged.plan).items()
    }
    found: dict[Key, tuple[list[Neighbour], list[Neighbour]]] = {}
    keys: dict[int, Mapping[str, Key]] = {}
    plans = Plans(records)
    for side, units in enumerate((around.before, around.after)):
        for unit in units:
            seen = around.seen.get(unit.serial, ())
            plan = plans.seen(seen)
            if plan is None:
                continue
            named = keys.setdefault(id(plan), keys_of(plan))
            for slot, one in last_readings(seen).items():
                key = named.get(slot)
                if key is None or key not in limits:
                    continue
                said = one.says()
                value = in_unit(str(said.get("value")), said.get("unit"), limits[key])
                if value is not None:
                    found.setdefault(key, ([], []))[side].append(Neighbour(unit.serial, value))
    return found


def _cases(office: Office, judged: Judged) -> tuple[CaseShown, ...]:
    titles = office.shop.settings.symptoms
    return tuple(
        CaseShown(
            case,
            str(office.day(case.opened.at)),
            case.age(office.now, office.shop.zone),
            tuple(titles.get(one, one) for one in case.complaint.symptoms),
            compare_arrival(judged, case.complaint.readings),
        )
        for case in cases_of(judged.entries)
    )


def _alike(records: Records, cases: Sequence[CaseShown], serial: str) -> frozenset[str]:
    """Other units complained about with a symptom of this unit's, by index; without symptoms all of them."""
    ref = tables.ref.c
    symptoms = {reference_value(one) for shown in cases for one in shown.case.complaint.symptoms}
    asked = select(ref.unit).where(ref.kind == ("symptom" if symptoms else "complaint"))
    if symptoms:
        asked = asked.where(ref.value.in_(sorted(symptoms)))
    rows = records.ask(asked.order_by(ref.value.desc()).limit(MOST_COMPLAINTS)).scalars()
    return frozenset(rows) - {serial}


def _trail(office: Office, records: Records, lot: str, serial: str, alike: Collection[str]) -> LotTrail:
    """Who else has the lot; where it is and what it was made of, if it was made here."""
    name = reference_value(lot)
    users = [one for one in records.units_using("lot", lot) if one.serial != serial]
    made, where = Records.unit(records, name), ""
    materials: tuple[tuple[str, str], ...] = ()
    if made is not None:
        where = whereabouts(made.state, Records.entries(records, name))
        materials = tuple(made_of(records, {serial: (_as_fitted(lot),)}).get(name, ()))
    supplier = next(
        (
            supplier
            for pattern, supplier in office.shop.settings.suppliers.items()
            if fnmatchcase(name, reference_value(pattern))
        ),
        "",
    )
    return LotTrail(
        lot,
        made.serial if made is not None else None,
        where,
        materials,
        tuple(one.serial for one in users),
        tuple(one.serial for one in users if one.state == "shipped"),
        tuple(one.serial for one in users if one.serial in alike),
        supplier,
    )


def _as_fitted(lot: str) -> Glimpse:
    from traveler.record.entry import Fitted
    from traveler.record.kept import body_text

    return Glimpse("", 0, "", "", None, "fitted", body_text(Fitted(trace="lot", value=lot)))


def _count(
    office: Office,
    records: Records,
    judged: Judged,
    around: Around,
    alike: Collection[str],
    complained: bool,
) -> Counts:
    """The ranking among the units around that customers have."""
    units = (*around.before, judged.unit, *around.after)
    counted = [one for one in units if one.state == "shipped" or one.serial in alike or one is judged.unit]
    mine = {one.serial for one in counted if one.serial in alike}
    others = frozenset(one.serial for one in counted) - {judged.unit.serial}
    if not complained or not mine:
        return Counts(around=others, alike=frozenset(mine))
    carried = carried_in(office, records, counted, around.seen)
    sharing = rank_shared(carried, mine | {judged.unit.serial})
    here = carried[judged.unit.serial]
    ranked = tuple(
        one
        for one in sharing.ranked
        if any(factor.value in here.get(factor.attribute, ()) for factor in one.factors)
    )
    return Counts(sharing, ranked, others, frozenset(mine))


def _told(counts: Counts, around: Around) -> tuple[str, ...]:
    before, after = len(around.before), len(around.after)
    window = f"Counted among the {before} units issued before this one and the {after} after."
    if counts.sharing is None:
        return (window,)
    return (window, *counts.sharing.sentences)


def _contain(trails: Mapping[str, LotTrail], cases: Sequence[CaseShown]) -> str:
    """The command that stops the units with the lot that stands out; empty where none does."""
    worst = max(trails.values(), key=lambda one: one.share, default=None)
    if worst is None or not worst.complained or not cases:
        return ""
    lot = f'"{worst.lot}"' if " " in worst.lot else worst.lot
    return f"traveler contain --lot {lot} --from {cases[-1].case.name} --stop --by ID --letters letters.csv"


def _others(
    records: Records, judged: Judged, trails: Mapping[str, LotTrail], alike: Collection[str]
) -> tuple[OtherUnit, ...]:
    """Units that share the lot with most complaints for its size, and others complained about alike.

    Those complained about come first, then those that are still here.
    """
    shares: dict[str, list[str]] = {}
    worst = max((one.share for one in trails.values()), default=0)
    for trail in trails.values():
        for serial in trail.units if trail.complained and trail.share == worst else ():
            shares.setdefault(serial, []).append(f"lot {trail.lot}")
    for serial in sorted(alike):
        unit = Records.unit(records, serial) if serial not in shares else None
        if unit is not None and unit.product == judged.unit.product:
            shares[serial] = []
    units = {one: Records.unit(records, one) for one in sorted(shares)}
    here = {one for one, unit in units.items() if unit is not None and unit.state != "shipped"}
    listed = sorted(shares, key=lambda one: (one not in alike, one not in here, one))[:MOST_OTHERS]
    found = ((one, units[one]) for one in listed)
    steps: dict[str, list[Entry]] = {}
    for entry in records.entries_of_kinds(listed, STEPS):
        steps.setdefault(entry.unit, []).append(entry)
    return tuple(
        OtherUnit(
            one,
            whereabouts(unit.state, steps.get(one, ())),
            tuple(shares[one]),
            one in alike,
            unit.state == "shipped",
        )
        for one, unit in found
        if unit is not None
    )


def _photos(records: Records, judged: Judged) -> Iterator[PhotoShown]:
    """Every photograph of the record, then those of complaints; a name without a picture only if alone."""
    case = judged.case
    pictured = {one.slot for one in case.standing if isinstance(one.body, Photographed) and one.body.file}
    for entry in case.standing:
        if isinstance(entry.body, Photographed) and (entry.body.file or entry.slot not in pictured):
            slot = case.plan.by_slot.get(entry.slot or "")
            caption = slot.label.rstrip(".") if slot is not None else "Photograph"
            name = entry.body.name or ""
            yield PhotoShown(entry.body.file, name, caption, str(case.day_of(entry)))
    for file in cases_of(judged.entries):
        for digest in file.complaint.photos:
            kept = records.attachment(digest)
            name = kept.name if kept is not None else ""
            yield PhotoShown(
                digest, name, f"From the customer, case {file.name}", str(case.day_of(file.opened))
            )
