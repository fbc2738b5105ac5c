"""What complained units have in common, and which units a cause affects."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select

from traveler.finding import CannotDo
from traveler.record import tables
from traveler.record.entry import Entry, Shipped, Struck, reference_value, standing_entries
from traveler.record.light import AT_ONCE
from traveler.record.records import Records, Unit
from traveler.record.stored import time_of
from traveler.shop.session import Session
from traveler.trace.cases import CaseFile, cases_of, complained_units, find_case, told_of
from traveler.trace.factors import Population, population, week
from traveler.trace.history import whereabouts
from traveler.trace.ranking import FactorRanking, SharedFactor, rank_factors
from traveler.verdict.state import LIFE

SHOWN = 20


@dataclass(frozen=True, slots=True)
class RankedCause:
    """One cause in rank order. ``here``: the unit of the case carries it; ``units`` are all that do."""

    shared: SharedFactor
    here: bool
    units: tuple[str, ...]
    complained: tuple[str, ...]

    @property
    def name(self) -> str:
        """``lot of P-2112 P-2112/78``, or several that no count can tell apart."""
        return " = ".join(str(factor) for factor in self.shared.factors)


@dataclass(frozen=True, slots=True)
class CommonCauses:
    """The answer: what was counted, the ranking, and what it says in plain words."""

    case: CaseFile
    unit: Unit
    population: Population
    counted: tuple[str, ...]
    complained: tuple[str, ...]
    ranked: tuple[RankedCause, ...]
    sharing: FactorRanking
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
                    **ranked_cause.shared.as_dict(),
                    "name": ranked_cause.name,
                    "convincing": ranked_cause.shared.convincing,
                    "carried_here": ranked_cause.here,
                    "complained_units": list(ranked_cause.complained),
                    "carriers_in_all": len(ranked_cause.units),
                    "sentence": ranked_cause.shared.sentence,
                }
                for ranked_cause in self.ranked
            ],
        }


def common_causes(session: Session, records: Records, name: str, *, show: int = SHOWN) -> CommonCauses:
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
    around = population(session, records, unit)
    mine = [serial for serial in complained if serial in around.units]
    counted = [serial for serial, kept in around.units.items() if kept.state == "shipped" or serial in mine]
    return answer(case, unit, around, counted, mine, show=show)


def answer(
    case: CaseFile,
    unit: Unit,
    around: Population,
    counted: Sequence[str],
    complained: Sequence[str],
    *,
    show: int = SHOWN,
) -> CommonCauses:
    """The ranking over units that are at hand."""
    units = around.among(counted)
    mine = tuple(sorted(serial for serial in complained if serial in units))
    sharing = rank_factors(units, mine, show=show)
    ranked = tuple(_ranked(shared_factor, unit.serial, around, mine) for shared_factor in sharing.ranked)
    sentences = (*_scope(case, around), *sharing.sentences)
    return CommonCauses(case, unit, around, tuple(sorted(units)), mine, ranked, sharing, sentences)


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
        (not symptoms or set(symptoms) & set(case.complaint.symptoms)) and not case.said("unfounded")
        for case in cases
    )


def _ranked(shared: SharedFactor, serial: str, around: Population, complained: Sequence[str]) -> RankedCause:
    factor = shared.factors[0]
    units = [
        serial
        for serial, carried in around.carried.items()
        if factor.value in carried.get(factor.attribute, ())
    ]
    hit = set(units)
    mine = tuple(serial for serial in complained if serial in hit)
    return RankedCause(shared, serial in hit, tuple(sorted(units)), mine)


def _scope(case: CaseFile, around: Population) -> list[str]:
    said = []
    if not case.complaint.symptoms:
        said.append("The complaint names no symptom: all complaints about the product are counted as one.")
    if not around.whole:
        said.append(
            f"Only the {len(around.units)} units issued nearest to this one are counted, of {around.of}."
        )
    return said


BY_REFERENCE = ("lot", "gauge", "person")
"""Causes that are looked up in the index of references."""

TOLD = ("issued", *LIFE, "complained", "followed_up", "struck")
"""The kinds of entries that are looked at: where a unit is, and whether somebody complained about it."""


@dataclass(frozen=True, slots=True)
class Cause:
    """What the units share: ``kind`` is lot, gauge, person, week, revision, variant or rank.

    ``since`` and ``until`` (both included) narrow a gauge or person to when it was used.
    """

    kind: str
    value: str
    since: date | None = None
    until: date | None = None

    def __str__(self) -> str:
        """``lot P-2112/78``, ``gauge IND-03 from 2026-05-01``."""
        since = f" from {self.since}" if self.since else ""
        return f"{self.kind} {self.value}{since}{f' to {self.until}' if self.until else ''}"


@dataclass(frozen=True, slots=True)
class Affected:
    """One unit: where it is, and with which customer since when if it left."""

    unit: Unit
    where: str
    shipped: Entry | None
    complained: bool
    issued: tuple[Entry, ...] = ()
    """Its first entry, which says what it is built to."""

    @property
    def left(self) -> bool:
        """Whether a customer has it."""
        return self.shipped is not None

    @property
    def gone(self) -> bool:
        """Whether nothing is left of it to be stopped."""
        return self.unit.state == "scrapped"

    def sent(self) -> Shipped | None:
        """What was said when it was shipped."""
        body = self.shipped.body if self.shipped is not None else None
        return body if isinstance(body, Shipped) else None


def affected(session: Session, records: Records, case: str, cause: Cause) -> tuple[str, tuple[Affected, ...]]:
    """What the units share, in words, and the units, by serial.

    A lot made here counts itself, for the pieces that are left of it; a lot of material counts the lots that
    were made of it, and the units with those.

    Raises:
        CannotDo: no such case, no such rank, a week that is none, or no unit.
    """
    name, serials = _found(session, records, case, cause)
    found = tuple(_affected(records, sorted(set(serials))))
    if not found:
        what = f"no unit has the {name}"
        raise CannotDo(what, "compare it with what 'traveler others' lists")
    return name, found


def _found(session: Session, records: Records, case: str, cause: Cause) -> tuple[str, Collection[str]]:
    if cause.kind == "rank":
        ranked = common_causes(session, records, case).ranked
        if not (cause.value.isascii() and cause.value.isdigit() and 0 < int(cause.value) <= len(ranked)):
            what = f"there is no rank {cause.value!r}"
            raise CannotDo(what, f"'traveler others {case}' lists {len(ranked)}")
        chosen = ranked[int(cause.value) - 1]
        lots = [factor.value for factor in chosen.shared.factors if factor.attribute.startswith("lot of")]
        wider = (_by_reference(session, records, Cause("lot", lot)) for lot in lots)
        return chosen.name, set(chosen.units).union(*wider)
    if cause.kind in BY_REFERENCE:
        return str(cause), _by_reference(session, records, cause)
    return str(cause), tuple(_built_as(session, records, case, cause))


def _by_reference(session: Session, records: Records, cause: Cause) -> set[str]:
    """Units found in the index; of a lot also those with what was made of it, wherever and whenever."""
    found = set(_using(session, records, cause))
    return found | set(_made_of_it(records, found)) if cause.kind == "lot" else found


def _using(session: Session, records: Records, cause: Cause) -> Iterator[str]:
    """Units with an entry about it that stands; a lot that was made here is one of them."""
    ref, entry = tables.reference_table.c, tables.entry_table.c
    joined = (ref.unit == entry.unit) & (ref.seq == entry.seq)
    asked = select(ref.unit, ref.seq, entry.at).join_from(tables.reference_table, tables.entry_table, joined)
    asked = asked.where(ref.kind == cause.kind, ref.value == reference_value(cause.value))
    used: dict[str, list[int]] = {}
    for row in records.ask(asked):
        day = session.day(time_of(row.at)) if cause.since or cause.until else None
        if day is None or (cause.since or day) <= day <= (cause.until or day):
            used.setdefault(row.unit, []).append(row.seq)
    struck = _struck(records, used)
    yield from (unit for unit, seqs in used.items() if not struck.get(unit, set()).issuperset(seqs))
    if cause.kind == "lot" and (made := records.unit(reference_value(cause.value))) is not None:
        yield made.serial


def _struck(records: Records, serials: Iterable[str]) -> dict[str, set[int]]:
    """Serial → numbers of its entries that are struck out."""
    found: dict[str, list[Entry]] = {}
    for entry in records.entries_of_kinds(serials, ("struck",)):
        found.setdefault(entry.unit, []).append(entry)
    return {
        unit: {entry.body.strikes for entry in standing_entries(strikes) if isinstance(entry.body, Struck)}
        for unit, strikes in found.items()
    }


def _made_of_it(records: Records, found: Collection[str]) -> Iterator[str]:
    """The units into which lots among these went."""
    ref, named = tables.reference_table.c, sorted(found)
    for first in range(0, len(named), AT_ONCE):
        asked = select(ref.unit).where(ref.kind == "lot", ref.value.in_(named[first : first + AT_ONCE]))
        yield from records.ask(asked.distinct()).scalars()


def _built_as(session: Session, records: Records, case: str, cause: Cause) -> Iterator[str]:
    product = _product(records, case)
    zone = session.shop.zone
    for unit in records.units(product=product):
        is_it = {"revision": unit.revision, "variant": unit.variant}.get(cause.kind)
        if (is_it or week(unit.issued, zone)) == cause.value.strip():
            yield unit.serial


def _product(records: Records, case: str) -> str:
    from traveler.trace.cases import find_case

    unit = records.unit(find_case(records, case).opened.unit)
    return unit.product if unit is not None else ""


def _affected(records: Records, serials: Sequence[str]) -> Iterator[Affected]:
    entries: dict[str, list[Entry]] = {}
    for entry in records.entries_of_kinds(serials, TOLD):
        entries.setdefault(entry.unit, []).append(entry)
    for serial in serials:
        unit, told = records.unit(serial), entries.get(serial, [])
        if unit is not None:
            life = next(
                (entry for entry in reversed(standing_entries(told)) if entry.body.kind in LIFE), None
            )
            shipped = life if life is not None and isinstance(life.body, Shipped) else None
            where, complained = whereabouts(unit.state, told), bool(cases_of(told))
            yield Affected(unit, where, shipped, complained, tuple(told[:1]))
