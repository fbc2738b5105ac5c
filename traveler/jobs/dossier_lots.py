"""The lots of a unit beyond the unit: who else has them, what they were made of, where those units are."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from fnmatch import fnmatchcase

from traveler.jobs.judged import Judged
from traveler.jobs.office import Office
from traveler.jobs.population import made_of
from traveler.record.entry import Entry, Fitted
from traveler.record.glance import Glimpse
from traveler.record.kept import body_text
from traveler.record.records import Records
from traveler.record.references import reference_value
from traveler.trace.dossier.parts import LotTrail
from traveler.trace.dossier.whole import CaseShown, OtherUnit
from traveler.trace.where_used import STEPS
from traveler.trace.whereabouts import whereabouts

MOST_OTHERS = 40
"""Other units that are listed with where they are."""


def trail_of(office: Office, records: Records, lot: str, serial: str, alike: Collection[str]) -> LotTrail:
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
    return Glimpse("", 0, "", "", None, "fitted", body_text(Fitted(trace="lot", value=lot)))


def containing(trails: Mapping[str, LotTrail], cases: Sequence[CaseShown]) -> str:
    """The command that stops the units with the lot that stands out; empty where none does."""
    worst = max(trails.values(), key=lambda one: one.share, default=None)
    if worst is None or not worst.complained or not cases:
        return ""
    lot = f'"{worst.lot}"' if " " in worst.lot else worst.lot
    return f"traveler contain --lot {lot} --from {cases[-1].case.name} --stop --by ID --letters letters.csv"


def other_units(
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
