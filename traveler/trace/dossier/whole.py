"""The dossier: everything about one unit, exact, in the order in which it is shown."""

from __future__ import annotations

from dataclasses import dataclass

from traveler.record.unit import Unit
from traveler.trace.arrival import ArrivalValue
from traveler.trace.cases import CaseFile
from traveler.trace.dossier.around import GaugeShown, PersonShown
from traveler.trace.dossier.life import LifeLine
from traveler.trace.dossier.parts import PartShown
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
        return {**self.case.as_dict(), **told, "values": [one.as_dict() for one in self.values]}


@dataclass(frozen=True, slots=True)
class Remark:
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
    remarks: tuple[Remark, ...]
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
            "cases": [one.as_dict() for one in self.cases],
            "summary": [one.as_dict() for one in self.remarks],
            "others": [one.as_dict() for one in self.others],
            "counted": list(self.told),
            "compared_with": {"before": self.before, "after": self.after},
            "readings": [one.as_dict() for one in self.readings],
            "parts": [one.as_dict() for one in self.parts],
            "gauges": [one.as_dict() for one in self.gauges],
            "people": [one.as_dict() for one in self.people],
            "photographs": [one.as_dict() for one in self.photos],
            "shipping": [one.as_dict() for one in self.shipping],
            "life": [one.as_dict() for one in self.life],
        }  # fmt: skip
