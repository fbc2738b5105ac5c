"""A dossier gathered from the records and written: PDF, an HTML page that needs nothing else, JSON."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

from traveler.files import write_whole
from traveler.finding import CannotDo, Finding, Place, Weight
from traveler.record.entry import Photographed, Shipped, reference_value
from traveler.record.errors import StoreError
from traveler.record.light import LightEntry, last_readings, light_entries, neighbors
from traveler.record.plans import Plans
from traveler.record.records import Records, Unit
from traveler.result import Result
from traveler.sheets.batch.catalog import SHEETS
from traveler.sheets.batch.requests import unit_header
from traveler.sheets.dossier import dossier_page, dossier_pdf, dossier_printing, row_names
from traveler.sheets.pictures import usable
from traveler.sheets.templates import templates
from traveler.shop.session import Session
from traveler.trace.arrival import compare_arrival
from traveler.trace.cases import CaseFile, cases_of, complained_alike, contained_under, list_cases
from traveler.trace.common_causes import CausesCounted, count_causes
from traveler.trace.dossier.context import LotTrail, gauges_of, life_of, lots_in, parts_of, people_of
from traveler.trace.dossier.pages import view_of
from traveler.trace.dossier.readings import Key, Neighbour, keys_of, readings_shown
from traveler.trace.dossier.result import CaseShown, Dossier, OtherUnit, PhotoShown
from traveler.trace.dossier.summary import observations_of
from traveler.trace.factors import FACTOR_KINDS, Population, factors_seen, made_of, supplier_of
from traveler.trace.history import whereabouts
from traveler.trace.judging import judge
from traveler.trace.where_used import STEPS, by_unit, units_with_customers, where_used
from traveler.verdict.judge import Judged
from traveler.verdict.plan_index import plan_index
from traveler.verdict.rows import value_in_unit

MOST_OTHERS = 40
"""Other units that are listed with where they are."""


def trail_of(session: Session, records: Records, lot: str, serial: str, alike: Collection[str]) -> LotTrail:
    """Who else has the lot; where it is and what it was made of, if it was made here."""
    name = reference_value(lot)
    users = [use for use in where_used(records, "lot", lot) if use.stands and use.unit.serial != serial]
    made = Records.unit(records, name)
    return LotTrail(
        lot,
        made.serial if made is not None else None,
        whereabouts(made.state, Records.entries(records, name)).text if made is not None else "",
        made_of(records, [lot]).get(name, ()),
        tuple(use.unit.serial for use in users),
        tuple(use.unit.serial for use in users if use.place.with_customer),
        tuple(use.unit.serial for use in users if use.unit.serial in alike),
        supplier_of(lot, session.shop.settings.suppliers) or "",
        tuple(use.unit.serial for use in users if use.place.here),
        tuple(use.unit.serial for use in users if use.place.here and use.unit.state == "stopped"),
    )


def containing(trails: Mapping[str, LotTrail], cases: Sequence[CaseFile], known: Iterable[CaseFile]) -> str:
    """The command that stops the units with the lot that stands out; empty where none does.

    Empty too where they were contained under a ``known`` case and all that are here are stopped.
    """
    worst = max(trails.values(), key=lambda trail: trail.share, default=None)
    if worst is None or not worst.complained or not cases:
        return ""
    if len(worst.stopped) == len(worst.here) and contained_under(cases[-1], [worst.lot], known) is not None:
        return ""
    lot = f'"{worst.lot}"' if " " in worst.lot else worst.lot
    return f"traveler case contain {cases[-1].name} --lot {lot} --stop --by ID --letters letters.csv"


def other_units(
    records: Records, product: str, trails: Mapping[str, LotTrail], alike: Collection[str]
) -> tuple[OtherUnit, ...]:
    """Units that share the lot with most complaints for its size, and others complained about alike.

    Those complained about come first, then those that are still here.
    """
    shares: dict[str, list[str]] = {}
    worst = max((trail.share for trail in trails.values()), default=0)
    for trail in trails.values():
        for serial in trail.units if trail.complained and trail.share == worst else ():
            shares.setdefault(serial, []).append(f"lot {trail.lot}")
    units = {serial: Records.unit(records, serial) for serial in sorted({*shares, *alike})}
    listed = [unit for unit in units.values() if unit and (unit.serial in shares or unit.product == product)]
    left = units_with_customers(records, listed)
    listed.sort(key=lambda unit: (unit.serial not in alike, unit.serial in left, unit.serial))
    steps = by_unit(records.entries_of_kinds([unit.serial for unit in listed[:MOST_OTHERS]], STEPS))
    return tuple(
        OtherUnit(
            unit.serial,
            whereabouts(unit.state, steps.get(unit.serial, ())).text,
            tuple(shares.get(unit.serial, ())),
            unit.serial in alike,
            unit.serial in left,
        )
        for unit in listed[:MOST_OTHERS]
    )


BEFORE, AFTER = 25, 25
"""Neighbors a reading is set among, and complaints are counted among."""

SHIPPING = frozenset({"released", "crated", "placed", "shipped"})


@dataclass(frozen=True, slots=True)
class Context:
    """The window: units before and after in the order of issue, and what was seen of them and this one."""

    before: tuple[Unit, ...]
    after: tuple[Unit, ...]
    seen: Mapping[str, Sequence[LightEntry]]


def dossier(session: Session, records: Records, judged: Judged) -> Dossier:
    """Everything about a unit.

    Raises:
        StoreDamaged: records of it or of the units around it cannot be read any more.
    """
    serial = judged.unit.serial
    around = _around(records, judged)
    shown = _cases(session, judged)
    founded = [case.case for case in shown if not case.case.unfounded]
    alike = _alike(records, founded, serial)
    trails = {lot: trail_of(session, records, lot, serial, alike) for lot in lots_in(judged.case)}
    readings = readings_shown(judged.case, judged.verdict, _readings_around(records, judged, around))
    parts, gauges = parts_of(judged.case, trails), gauges_of(judged.case)
    counts = _count(session, records, judged, around, {*alike, *([serial] if founded else [])})
    life = life_of(judged.unit, judged.case)
    sent = (entry.body for entry in reversed(judged.case.standing) if isinstance(entry.body, Shipped))
    body = next(sent, None)
    others = other_units(records, judged.unit.product, trails, alike)
    return Dossier(
        unit=judged.unit,
        title=judged.plan.title,
        variant=judged.plan.variant_title or judged.plan.variant,
        where=whereabouts(judged.unit.state, judged.entries).text,
        customer=body.customer if body is not None else "",
        shipped=next((line.day for line in reversed(life) if line.kind == "shipped" and not line.struck), ""),
        cases=shown,
        remarks=observations_of(judged, shown, readings, parts, gauges, counts),
        others=others,
        told=_told(counts, around),
        contain=containing(trails, founded, (listed.case for listed in list_cases(session, records))),
        readings=readings,
        parts=parts,
        gauges=gauges,
        people=people_of(judged.case),
        photos=tuple(_photos(records, judged)),
        shipping=tuple(line for line in life if line.kind in SHIPPING and not line.struck),
        life=life,
        before=len(around.before),
        after=len(around.after),
    )


def _around(records: Records, judged: Judged) -> Context:
    unit = judged.unit
    before, after = neighbors(records, unit.product, unit.serial, BEFORE, AFTER)
    serials = [near.serial for near in (*before, unit, *after)]
    return Context(before, after, light_entries(records, serials, FACTOR_KINDS))


def _readings_around(
    records: Records, judged: Judged, around: Context
) -> Mapping[Key, tuple[Sequence[Neighbour], Sequence[Neighbour]]]:
    """What is compared → the same readings before and after, in the unit of the limits.

    On units of another definition or variant the same check may stand in another slot, and the same slot may
    be another check: readings are brought together by check, position and limits.
    """
    step_of, known = judged.plan.step_of, plan_index(judged.plan).limits
    limits = {key: known.get(step_of[slot].id) for slot, key in keys_of(judged.plan).items()}
    texts = {key: own.text if own is not None else None for key, own in limits.items()}
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
            for slot, reading in last_readings(seen).items():
                key = named.get(slot)
                if key is None or key not in texts:
                    continue
                said = reading.says()
                value = value_in_unit(str(said.get("value")), said.get("unit"), texts[key])
                if value is not None:
                    found.setdefault(key, ([], []))[side].append(Neighbour(unit.serial, value))
    return found


def _cases(session: Session, judged: Judged) -> tuple[CaseShown, ...]:
    titles = session.shop.settings.symptoms
    return tuple(
        CaseShown(
            case,
            str(session.day(case.opened.at)),
            case.age(session.now, session.shop.zone),
            tuple(titles.get(symptom, symptom) for symptom in case.complaint.symptoms),
            compare_arrival(judged, case.complaint.readings),
        )
        for case in cases_of(judged.entries)
    )


def _alike(records: Records, cases: Sequence[CaseFile], serial: str) -> frozenset[str]:
    """Other units complained about like this one, case by case; without a case all that complained."""
    asked = [case.complaint.symptoms for case in cases] or [()]
    found = (other for symptoms in asked for other in complained_alike(records, symptoms))
    return frozenset(found) - {serial}


def _count(
    session: Session, records: Records, judged: Judged, around: Context, alike: Collection[str]
) -> CausesCounted:
    """The count among the units around, as :func:`traveler.trace.common_causes.count_causes` makes it."""
    units = (*around.before, judged.unit, *around.after)
    factors = factors_seen(session, records, units, around.seen)
    population = Population({unit.serial: unit for unit in units}, factors, len(units))
    return count_causes(records, judged.unit, population, alike)


def _told(counts: CausesCounted, around: Context) -> tuple[str, ...]:
    before, after = len(around.before), len(around.after)
    window = f"Counted among the {before} units issued before this one and the {after} after."
    return (window, *(counts.ranking.sentences if counts.complained else ()))


def _photos(records: Records, judged: Judged) -> Iterator[PhotoShown]:
    """Every photograph of the record, then those of complaints; a name without a picture only if alone."""
    case = judged.case
    pictured = {
        entry.slot for entry in case.standing if isinstance(entry.body, Photographed) and entry.body.file
    }
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


FORMATS = ("pdf", "html", "json")


@dataclass(frozen=True, slots=True)
class DossierWritten(Result):
    """The dossier and its files; the filled record lies beside the PDF."""

    json_keys: ClassVar[str] = "files dossier=found"

    found: Dossier
    files: tuple[Path, ...]
    findings: tuple[Finding, ...]


def chosen_formats(text: str) -> tuple[str, ...]:
    """``pdf,html`` as formats, each once.

    Raises:
        CannotDo: one of them is none.
    """
    asked = tuple(dict.fromkeys(part.strip().lower() for part in text.split(",") if part.strip()))
    unknown = [name for name in asked if name not in FORMATS]
    if unknown or not asked:
        what = f"there is no format {unknown[0]!r}" if unknown else "no format is named"
        raise CannotDo(what, f"formats are {', '.join(FORMATS)}")
    return asked


def write_dossier(
    session: Session, serial: str, *, to: Path | None = None, formats: Sequence[str] = FORMATS
) -> DossierWritten:
    """Gathers the dossier and writes it, into ``to`` or where the unit's sheets are.

    Findings: CAS007 a photograph of the record that cannot be shown (warning); those of the sheet.

    Raises:
        CannotDo: no unit of this serial was issued here.
        StoreError: its records cannot be read.
        OSError: the files cannot be written.
    """
    with session.store.reading() as records:
        judged = judge(session, records, serial)
        found = dossier(session, records, judged)
    folder = to if to is not None else session.shop.output / serial
    kept, findings = _pictures(session, serial, found.photos)
    content = (json.dumps(found.as_dict(), ensure_ascii=False, indent=1) + "\n").encode()
    files: list[Path] = []
    if "pdf" in formats or "html" in formats:
        pages, more = _pages(session, judged, found, kept, content, formats)
        findings += more
        files += [write_whole(folder / name, page) for name, page in pages]
    if "json" in formats:
        files.append(write_whole(folder / "dossier.json", content))
    return DossierWritten(found, tuple(files), tuple(findings))


def _pages(
    session: Session,
    judged: Judged,
    found: Dossier,
    kept: Mapping[str, tuple[bytes, str]],
    content: bytes,
    formats: Sequence[str],
) -> tuple[list[tuple[str, bytes]], list[Finding]]:
    shop = session.shop
    printing = dossier_printing(shop.settings, session.now, templates=templates(shop.folder))
    shown = unit_header(session, judged.unit, judged.entries)
    view = view_of(found, shown.issued, row_names(printing))
    pages, findings = [], []
    if "pdf" in formats:
        sheet = dossier_pdf(judged.plan, shown, view, kept, content, printing)
        findings += list(sheet.findings)
        if sheet.printed:
            pages.append(("dossier.pdf", sheet.pdf))
        record = SHEETS["record"].render(session, judged, 1)
        findings += list(record.findings)
        if record.printed:
            pages.append(("dossier-record.pdf", record.pdf))
    if "html" in formats:
        pages.append(("dossier.html", dossier_page(judged.plan, shown, view, kept, printing)))
    return pages, findings


def _pictures(
    session: Session, serial: str, photos: Sequence[PhotoShown]
) -> tuple[dict[str, tuple[bytes, str]], list[Finding]]:
    """SHA-256 → the photograph as it goes into a page."""
    kept: dict[str, tuple[bytes, str]] = {}
    findings: list[Finding] = []
    for digest, name in dict.fromkeys((photo.digest, photo.name) for photo in photos):
        if digest is None:
            continue
        try:
            made = usable(session.store.attachments.get(digest))
        except StoreError as problem:
            made = problem.what
        if isinstance(made, str):
            what = f"photograph {name or digest[:12]} {made}"
            findings.append(Finding("CAS007", what, Place(unit=serial), Weight.WARNING))
        else:
            kept[digest] = made
    return kept, findings
