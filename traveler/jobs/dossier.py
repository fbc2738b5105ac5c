"""Gathering a dossier: one view of the records, look-ups by index, no more than a window of neighbours."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select

from traveler.jobs.arrival import compare_arrival
from traveler.jobs.dossier_lots import containing, other_units, trail_of
from traveler.jobs.judge import judge
from traveler.jobs.judged import Judged
from traveler.jobs.office import Office
from traveler.jobs.plans_of import Plans
from traveler.jobs.population import carried_in
from traveler.record import tables
from traveler.record.entry import Photographed, Shipped
from traveler.record.glance import Glimpse, glance
from traveler.record.neighbours import last_readings, neighbours
from traveler.record.records import Records
from traveler.record.references import reference_value
from traveler.record.unit import Unit
from traveler.trace.carried import KINDS
from traveler.trace.cases import cases_of
from traveler.trace.dossier.around import gauges_of, people_of
from traveler.trace.dossier.life import life_of
from traveler.trace.dossier.parts import lots_in, parts_of
from traveler.trace.dossier.readings import Key, Neighbour, in_unit, keys_of, readings_shown
from traveler.trace.dossier.summary import Counts, remarks_of
from traveler.trace.dossier.whole import CaseShown, Dossier, PhotoShown
from traveler.trace.sharing import rank_shared
from traveler.trace.whereabouts import whereabouts
from traveler.verdict.planned import planned

BEFORE, AFTER = 25, 25
"""Neighbours a reading is set among, and complaints are counted among."""

MOST_COMPLAINTS = 500
"""The last so many complaints are looked at for others like this one."""

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
    trails = {lot: trail_of(office, records, lot, serial, alike) for lot in lots_in(judged.case)}
    readings = readings_shown(judged.case, judged.verdict, _readings_around(records, judged, around))
    parts, gauges = parts_of(judged.case, trails), gauges_of(judged.case)
    counts = _count(office, records, judged, around, alike, bool(shown))
    life = life_of(judged.unit, judged.case)
    body = next((one.body for one in reversed(judged.case.standing) if isinstance(one.body, Shipped)), None)
    others = other_units(records, judged, trails, alike)
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
        contain=containing(trails, shown),
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
