"""Wishes for sheets, from the records: what a sheet shows is looked up here, once for all units of a kind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from traveler.definition.plan import Plan
from traveler.jobs.face_sheet import PACKING_LIST, TRAVELER, FaceSheet, Wish
from traveler.jobs.judged import Judged, weighed_mass
from traveler.jobs.office import Office
from traveler.jobs.plans import issued_with, plan_as_issued, texts_as_issued
from traveler.jobs.printing import face, shown_pictures, texts_of
from traveler.jobs.units import known_unit

MOST = 8
"""Definitions and variants whose pictures are kept at a time."""


@dataclass(slots=True)
class Wishes:
    """Makes wishes; pictures are read once for each definition and variant."""

    office: Office
    seen: dict[tuple[str, str, tuple[str, ...]], Mapping[str, bytes]] = field(default_factory=dict)

    def new(self, serial: str) -> Wish:
        """The first traveler of a unit.

        Raises:
            CannotDo: no unit of this serial was issued here.
            StoreDamaged: its records do not begin with its issue, or its definition cannot be read.
        """
        language = self.office.speaks()
        with self.office.store.reading() as records:
            unit = known_unit(records, serial)
            entries, issued = records.entries(serial), issued_with(records, unit)
            plan, texts = plan_as_issued(records, issued), texts_as_issued(records, issued, language)
        shown = face(self.office, unit, entries)
        return Wish(shown, FaceSheet(TRAVELER, plan, texts, language, self.pictures(plan)))

    def again(self, judged: Judged, name: str, copy_number: int) -> Wish:
        """A sheet of a unit that shows nothing of it but its face (and on packing lists its mass)."""
        packed, plan = name == PACKING_LIST, judged.plan
        texts, language = (
            texts_of(self.office, judged.entries, customer=packed),
            self.office.speaks(customer=packed),
        )
        mass = weighed_mass(judged) if packed else None
        sheet = FaceSheet(name, plan, texts, language, self.pictures(plan), copy_number, mass)
        return Wish(face(self.office, judged.unit, judged.entries), sheet)

    def pictures(self, plan: Plan) -> Mapping[str, bytes]:
        """The pictures that sheets of this plan may show, by name."""
        key = (plan.digest, plan.variant, plan.options)
        if key not in self.seen:
            self.seen[key] = shown_pictures(self.office, plan)
            if len(self.seen) > MOST:
                del self.seen[next(iter(self.seen))]
        return self.seen[key]
