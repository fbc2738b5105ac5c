"""The dossier of a unit: everything about it, exact, in the order shown."""

from __future__ import annotations

from dataclasses import dataclass

from traveler.record.records import Unit
from traveler.trace.arrival import ArrivalValue
from traveler.trace.cases import CaseFile
from traveler.trace.dossier.context import GaugeShown, LifeLine, PartShown, PersonShown
from traveler.trace.dossier.readings import ReadingShown


@dataclass(frozen=True, slots=True)
class CaseShown:
    """A case with the day of the complaint, titles of its symptoms, the customer's values beside ours."""

    case: CaseFile
    day: str
    age: int
    symptoms: tuple[str, ...]
    values: tuple[ArrivalValue, ...]

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        told = {"day": self.day, "age_days": self.age, "symptom_titles": list(self.symptoms)}
        return {
            **self.case.as_dict(),
            **told,
            "values": [arrival_value.as_dict() for arrival_value in self.values],
        }


@dataclass(frozen=True, slots=True)
class Observation:
    """Something that is not as on other units. ``strong``: it may well be the cause.

    ``kind`` is one word for programs: shared, changed, gauge, out, conceded, near, extreme, struck, late,
    adjusted, stopped. ``slots`` are the readings it speaks of.
    """

    kind: str
    head: str
    text: str
    strong: bool = False
    slots: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return {
            "kind": self.kind, "head": self.head, "text": self.text, "strong": self.strong,
            "slots": list(self.slots),
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class OtherUnit:
    """Another unit: where it is, what it shares, whether it was complained about alike."""

    serial: str
    where: str
    shares: tuple[str, ...]
    complained: bool
    left: bool

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return {
            "serial": self.serial, "where": self.where, "shares": list(self.shares),
            "complained": self.complained, "left": self.left,
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class PhotoShown:
    """A photograph: SHA-256 where it is kept with the records, its name, what it shows, when."""

    digest: str | None
    name: str
    caption: str
    day: str

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return {"sha256": self.digest, "name": self.name, "caption": self.caption, "day": self.day}


@dataclass(frozen=True, slots=True)
class Dossier:
    """All of it.

    ``told`` are sentences of the count among the units around, ``contain`` the command that stops the units
    with the lot that stands out, or an empty text.
    """

    unit: Unit
    title: str
    variant: str
    where: str
    customer: str
    shipped: str
    cases: tuple[CaseShown, ...]
    remarks: tuple[Observation, ...]
    others: tuple[OtherUnit, ...]
    told: tuple[str, ...]
    contain: str
    readings: tuple[ReadingShown, ...]
    parts: tuple[PartShown, ...]
    gauges: tuple[GaugeShown, ...]
    people: tuple[PersonShown, ...]
    photos: tuple[PhotoShown, ...]
    shipping: tuple[LifeLine, ...]
    life: tuple[LifeLine, ...]
    before: int
    after: int

    def as_dict(self) -> dict[str, object]:
        """For JSON: numbers as exact text, everything that is shown and nothing that is not."""
        unit = self.unit
        return {
            "format": 1,
            "serial": unit.serial, "product": unit.product, "title": self.title, "variant": self.variant,
            "revision": unit.revision, "digest": unit.digest, "order": unit.order, "state": unit.state,
            "where": self.where, "customer": self.customer, "shipped": self.shipped,
            "entries": unit.entries, "head": unit.head,
            "cases": [case.as_dict() for case in self.cases],
            "summary": [remark.as_dict() for remark in self.remarks],
            "others": [other_unit.as_dict() for other_unit in self.others],
            "counted": list(self.told),
            "compared_with": {"before": self.before, "after": self.after},
            "readings": [reading.as_dict() for reading in self.readings],
            "parts": [part.as_dict() for part in self.parts],
            "gauges": [gauge.as_dict() for gauge in self.gauges],
            "people": [person.as_dict() for person in self.people],
            "photographs": [photo.as_dict() for photo in self.photos],
            "shipping": [life_line.as_dict() for life_line in self.shipping],
            "life": [life_line.as_dict() for life_line in self.life],
        }  # fmt: skip
