"""The dossier of a unit: everything about it, exact, in the order shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from traveler.record.records import Unit
from traveler.result import Result
from traveler.trace.arrival import ArrivalValue
from traveler.trace.cases import CaseFile
from traveler.trace.dossier.context import GaugeShown, LifeLine, PartShown, PersonShown
from traveler.trace.dossier.readings import ReadingShown


@dataclass(frozen=True, slots=True)
class CaseShown(Result):
    """A case with the day of the complaint, titles of its symptoms, the customer's values beside ours."""

    json_keys: ClassVar[str] = "*case day age_days=age symptom_titles=symptoms values"

    case: CaseFile
    day: str
    age: int
    symptoms: tuple[str, ...]
    values: tuple[ArrivalValue, ...]


@dataclass(frozen=True, slots=True)
class Observation(Result):
    """Something that is not as on other units. ``strong``: it may well be the cause.

    ``kind`` is one word for programs: shared, changed, gauge, out, ``conceded``, near, extreme, struck, late,
    adjusted, stopped. ``slots`` are the readings it speaks of.
    """

    kind: str
    head: str
    text: str
    strong: bool = False
    slots: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OtherUnit(Result):
    """Another unit: where it is, what it shares, whether it was complained about alike."""

    serial: str
    where: str
    shares: tuple[str, ...]
    complained: bool
    left: bool


@dataclass(frozen=True, slots=True)
class PhotoShown(Result):
    """A photograph: SHA-256 where it is kept with the records, its name, what it shows, when."""

    json_keys: ClassVar[str] = "sha256=digest name caption day"

    digest: str | None
    name: str
    caption: str
    day: str


@dataclass(frozen=True, slots=True)
class Dossier(Result):
    """All of it; numbers as exact text in JSON, everything that is shown and nothing that is not.

    ``told`` are sentences of the count among the units around, ``contain`` the command that stops the units
    with the lot that stands out, or an empty text.
    """

    json_keys: ClassVar[str] = (
        "format serial=unit.serial product=unit.product title variant revision=unit.revision "
        "digest=unit.digest order=unit.order state=unit.state where customer shipped "
        "entries=unit.entries head=unit.head cases summary=remarks others counted=told "
        "compared_with readings parts gauges people photographs=photos shipping life"
    )

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
    format: int = 1

    @property
    def compared_with(self) -> dict[str, int]:
        """How many units before and after it is compared with."""
        return {"before": self.before, "after": self.after}
