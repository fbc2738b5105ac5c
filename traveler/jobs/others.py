"""Which other units? What a complained unit shares with others that were complained about, ranked."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from traveler.jobs.find_case import find_case
from traveler.jobs.list_cases import complained_units, told_of
from traveler.jobs.office import Office
from traveler.jobs.population import Population, population
from traveler.record.records import Records
from traveler.record.unit import Unit
from traveler.trace.cases import CaseFile, cases_of
from traveler.trace.sharing import Shared, Sharing, rank_shared

SHOWN = 20


@dataclass(frozen=True, slots=True)
class Ranked:
    """One cause in rank order. ``here``: the unit of the case carries it; ``units`` are all that do."""

    shared: Shared
    here: bool
    units: tuple[str, ...]
    complained: tuple[str, ...]

    @property
    def name(self) -> str:
        """``lot of P-2112 P-2112/78``, or several that no count can tell apart."""
        return " = ".join(str(one) for one in self.shared.factors)


@dataclass(frozen=True, slots=True)
class Others:
    """The answer: what was counted, the ranking, and what it says in plain words."""

    case: CaseFile
    unit: Unit
    population: Population
    counted: tuple[str, ...]
    complained: tuple[str, ...]
    ranked: tuple[Ranked, ...]
    sharing: Sharing
    sentences: tuple[str, ...]

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {
            "case": self.case.name,
            "product": self.unit.product,
            "symptoms": list(self.case.complaint.symptoms),
            "counted": len(self.counted),
            "complained": list(self.complained),
            "sentences": list(self.sentences),
            "ranked": [
                {
                    **one.shared.as_dict(),
                    "name": one.name,
                    "convincing": one.shared.convincing,
                    "carried_here": one.here,
                    "complained_units": list(one.complained),
                    "carriers_in_all": len(one.units),
                    "sentence": one.shared.sentence,
                }
                for one in self.ranked
            ],
        }


def others(office: Office, records: Records, name: str, *, show: int = SHOWN) -> Others:
    """Ranks what the unit of a case shares with other complained units against those without a complaint.

    Counted are the units of the product that left, and those complained about; complained is who has a case
    with a symptom of this one (any case where it names none) that was not found to be unfounded.

    Raises:
        CannotDo: no such case.
    """
    case = find_case(records, name)
    serial = case.opened.unit
    complained = alike(records, case)
    unit = records.unit(serial)
    if unit is None:
        msg = f"a case without its unit: {serial}"
        raise LookupError(msg)
    around = population(office, records, unit)
    mine = [one for one in complained if one in around.units]
    counted = [one for one, kept in around.units.items() if kept.state == "shipped" or one in mine]
    return answer(case, unit, around, counted, mine, show=show)


def answer(
    case: CaseFile,
    unit: Unit,
    around: Population,
    counted: Sequence[str],
    complained: Sequence[str],
    *,
    show: int = SHOWN,
) -> Others:
    """The ranking over units that are at hand."""
    units = around.among(counted)
    mine = tuple(sorted(one for one in complained if one in units))
    sharing = rank_shared(units, mine, show=show)
    ranked = tuple(_ranked(one, unit.serial, around, mine) for one in sharing.ranked)
    sentences = (*_scope(case, around), *sharing.sentences)
    return Others(case, unit, around, tuple(sorted(units)), mine, ranked, sharing, sentences)


def alike(records: Records, case: CaseFile) -> tuple[str, ...]:
    """Serials of units with a case like this one: with a symptom in common, and not unfounded."""
    symptoms = case.complaint.symptoms
    found: dict[str, None] = {}
    for symptom in symptoms or (None,):
        found |= dict.fromkeys(complained_units(records, symptom))
    told = told_of(records, found)
    return tuple(serial for serial, entries in told.items() if _stands(cases_of(entries), symptoms))


def _stands(cases: Sequence[CaseFile], symptoms: Collection[str]) -> bool:
    return any(
        (not symptoms or set(symptoms) & set(one.complaint.symptoms)) and not one.said("unfounded")
        for one in cases
    )


def _ranked(shared: Shared, serial: str, around: Population, complained: Sequence[str]) -> Ranked:
    factor = shared.factors[0]
    units = [
        one for one, carried in around.carried.items() if factor.value in carried.get(factor.attribute, ())
    ]
    hit = set(units)
    mine = tuple(one for one in complained if one in hit)
    return Ranked(shared, serial in hit, tuple(sorted(units)), mine)


def _scope(case: CaseFile, around: Population) -> list[str]:
    said = []
    if not case.complaint.symptoms:
        said.append("The complaint names no symptom: all complaints about the product are counted as one.")
    if not around.whole:
        said.append(
            f"Only the {len(around.units)} units issued nearest to this one are counted, of {around.of}."
        )
    return said
