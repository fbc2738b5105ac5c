"""Every case of the shop: found by index among the complaints, each folded from the entries of its unit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select

from traveler.jobs.office import Office
from traveler.record import tables
from traveler.record.entry import Entry
from traveler.record.records import Records
from traveler.record.references import reference_value
from traveler.record.unit import Unit
from traveler.trace.cases import CaseFile, cases_of
from traveler.trace.whereabouts import whereabouts

TOLD = ("complained", "followed_up", "placed", "shipped", "struck")
"""The kinds of entries that are looked at."""


@dataclass(frozen=True, slots=True)
class Listed:
    """One case with its unit, where that is, and how old the case is in days."""

    case: CaseFile
    unit: Unit
    where: str
    age: int
    overdue: bool
    """Whether the effect of its action should have been checked by now."""

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        about = {"product": self.unit.product, "variant": self.unit.variant, "where": self.where}
        return {**self.case.as_dict(), **about, "age_days": self.age, "overdue": self.overdue}


def list_cases(
    office: Office, records: Records, *, opened: bool = False, symptom: str | None = None
) -> tuple[Listed, ...]:
    """The cases, the oldest first; ``opened``: only those that are not closed."""
    found = []
    told = told_of(records, complained_units(records, symptom))
    for serial, entries in told.items():
        unit = records.unit(serial)
        if unit is None:
            continue
        for case in cases_of(entries):
            if (opened and case.closed) or (symptom and symptom not in case.complaint.symptoms):
                continue
            age, due = case.age(office.now, office.shop.zone), case.due
            late = due is not None and due < office.today
            found.append(Listed(case, unit, whereabouts(unit.state, entries), age, late))
    return tuple(sorted(found, key=lambda one: (one.case.opened.at, one.case.name)))


def told_of(records: Records, serials: Iterable[str]) -> Mapping[str, Sequence[Entry]]:
    """Serial → its entries that tell of its cases and of where it is, by number; others are not read."""
    found: dict[str, list[Entry]] = {}
    for one in records.entries_of_kinds(serials, TOLD):
        found.setdefault(one.unit, []).append(one)
    return found


def complained_units(
    records: Records, symptom: str | None = None, since: date | None = None
) -> tuple[str, ...]:
    """Serials of the units with a complaint (struck ones too), found by index."""
    ref = tables.ref.c
    asked = select(ref.unit).where(ref.kind == ("symptom" if symptom else "complaint"))
    if symptom:
        asked = asked.where(ref.value == reference_value(symptom))
    elif since is not None:
        asked = asked.where(ref.value >= since.isoformat())
    return tuple(records.ask(asked.distinct().order_by(ref.unit)).scalars())
