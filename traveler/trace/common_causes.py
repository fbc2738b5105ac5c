"""What complained units have in common, and which units a cause affects."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import ClassVar

from sqlalchemy import select

from traveler.finding import CannotDo
from traveler.record import tables
from traveler.record.entry import Entry, Shipped, reference_value
from traveler.record.light import AT_ONCE
from traveler.record.records import Records, Unit
from traveler.result import Result
from traveler.shop.session import Session
from traveler.trace.cases import CaseFile, cases_of, complained_alike, find_case
from traveler.trace.factors import Population, population, week
from traveler.trace.history import Whereabouts, whereabouts
from traveler.trace.ranking import FactorRanking, SharedFactor, rank_factors
from traveler.trace.where_used import by_unit, named_value, units_with, units_with_customers

SHOWN = 20


@dataclass(frozen=True, slots=True)
class RankedCause(Result):
    """One cause in rank order. ``here``: the unit of the case carries it; ``units`` are all that do."""

    json_keys: ClassVar[str] = (
        "*shared name convincing=shared.convincing carried_here=here complained_units=complained "
        "carriers_in_all=carriers sentence=shared.sentence"
    )

    shared: SharedFactor
    here: bool
    units: tuple[str, ...]
    complained: tuple[str, ...]

    @property
    def carriers(self) -> int:
        """How many units carry it, counted or not."""
        return len(self.units)

    @property
    def name(self) -> str:
        """``lot of P-2112 P-2112/78``, or several that no count can tell apart."""
        return " = ".join(str(factor) for factor in self.shared.factors)


@dataclass(frozen=True, slots=True)
class CausesCounted:
    """The count among some units: with customers or complained about, complained about alike, the ranking."""

    counted: frozenset[str]
    complained: frozenset[str]
    ranking: FactorRanking
    ranked: tuple[RankedCause, ...]


@dataclass(frozen=True, slots=True)
class CommonCauses(Result):
    """The answer: what was counted, the ranking, and what it says in plain words."""

    json_keys: ClassVar[str] = (
        "case=case.name product=unit.product symptoms=case.complaint.symptoms counted=count "
        "complained sentences ranked"
    )

    case: CaseFile
    unit: Unit
    found: CausesCounted
    sentences: tuple[str, ...]

    @property
    def count(self) -> int:
        """How many units are counted."""
        return len(self.found.counted)

    @property
    def complained(self) -> tuple[str, ...]:
        """Serials of the units counted that complained alike."""
        return tuple(sorted(self.found.complained))

    @property
    def ranked(self) -> tuple[RankedCause, ...]:
        """The causes in rank order."""
        return self.found.ranked


def common_causes(session: Session, records: Records, name: str, *, show: int = SHOWN) -> CommonCauses:
    """Ranks what the unit of a case shares with other complained units against those without a complaint.

    Raises:
        CannotDo: no such case.
    """
    case = find_case(records, name)
    serial = case.opened.unit
    unit = records.unit(serial)
    if unit is None:
        msg = f"a case without its unit: {serial}"
        raise LookupError(msg)
    around = population(session, records, unit)
    found = count_causes(records, unit, around, complained_alike(records, case.complaint.symptoms), show=show)
    return CommonCauses(case, unit, found, (*_scope(case, around), *found.ranking.sentences))


def count_causes(
    records: Records, unit: Unit, around: Population, alike: Collection[str], *, show: int = SHOWN
) -> CausesCounted:
    """The ranking among the units around: what those complained about alike share.

    Counted are the units that customers have, and those complained about. ``alike`` are the serials that
    :func:`traveler.trace.cases.complained_alike` gives.
    """
    known = [near for serial, near in around.units.items() if serial in around.carried]
    complained = frozenset(near.serial for near in known if near.serial in alike)
    counted = units_with_customers(records, known) | complained
    ranking = rank_factors(around.among(counted), complained, show=show)
    ranked = tuple(_ranked(shared, unit.serial, around, complained) for shared in ranking.ranked)
    return CausesCounted(counted, complained, ranking, ranked)


def _ranked(
    shared: SharedFactor, serial: str, around: Population, complained: Collection[str]
) -> RankedCause:
    factor = shared.factors[0]
    units = {unit for unit, carried in around.carried.items() if factor.carried(carried)}
    return RankedCause(shared, serial in units, tuple(sorted(units)), tuple(sorted(units & set(complained))))


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

TOLD = ("issued", "placed", "shipped", "complained", "followed_up", "struck")
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
    place: Whereabouts
    complained: bool
    issued: tuple[Entry, ...] = ()
    """Its first entry, which says what it is built to."""

    @property
    def left(self) -> bool:
        """Whether a customer has it."""
        return self.place.with_customer

    @property
    def sent(self) -> Shipped | None:
        """What was said when it was shipped."""
        body = self.place.shipment.body if self.place.shipment is not None else None
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
        raise CannotDo(what, "compare it with what 'traveler case causes' lists")
    return name, found


def _found(session: Session, records: Records, case: str, cause: Cause) -> tuple[str, Collection[str]]:
    if cause.kind == "rank":
        ranked = common_causes(session, records, case).ranked
        if not (cause.value.isascii() and cause.value.isdigit() and 0 < int(cause.value) <= len(ranked)):
            what = f"there is no rank {cause.value!r}"
            raise CannotDo(what, f"'traveler case causes {case}' lists {len(ranked)}")
        chosen = ranked[int(cause.value) - 1]
        lots = [factor.value for factor in chosen.shared.factors if factor.is_lot]
        wider = (_by_reference(session, records, Cause("lot", lot)) for lot in lots)
        return chosen.name, set(chosen.units).union(*wider)
    if cause.kind in BY_REFERENCE:
        named_value(session, records, cause.kind, cause.value)
        return str(cause), _by_reference(session, records, cause)
    return str(cause), tuple(_built_as(session, records, case, cause))


def _by_reference(session: Session, records: Records, cause: Cause) -> set[str]:
    """Units with an entry about it that stands; of a lot also the lot made here, and what was made of it."""

    def during(moment: datetime) -> bool:
        day = session.day(moment)
        return (cause.since or day) <= day <= (cause.until or day)

    found = set(units_with(records, cause.kind, cause.value, during if cause.since or cause.until else None))
    if cause.kind == "lot":
        made = records.unit(reference_value(cause.value))
        found |= {made.serial} if made is not None else set()
        found |= set(_made_of_it(records, found))
    return found


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
        found = {"revision": unit.revision, "variant": unit.variant}.get(cause.kind)
        if (found or week(unit.issued, zone)) == cause.value.strip():
            yield unit.serial


def _product(records: Records, case: str) -> str:
    unit = records.unit(find_case(records, case).opened.unit)
    return unit.product if unit is not None else ""


def _affected(records: Records, serials: Sequence[str]) -> Iterator[Affected]:
    entries = by_unit(records.entries_of_kinds(serials, TOLD))
    for serial in serials:
        unit, told = records.unit(serial), entries.get(serial, ())
        if unit is not None:
            complained = any(case.alike(()) for case in cases_of(told))
            yield Affected(unit, whereabouts(unit.state, told), complained, told[:1])
