"""The units that a cause may have spoilt, wherever they are: by lot, gauge, person, week or rank."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select

from traveler.jobs.cannot import CannotDo
from traveler.jobs.office import Office
from traveler.jobs.others import others
from traveler.record import tables
from traveler.record.columns import time_of
from traveler.record.entry import Entry, Shipped, Struck
from traveler.record.glance import AT_ONCE
from traveler.record.records import Records
from traveler.record.references import reference_value
from traveler.record.unit import Unit
from traveler.trace.carried import week
from traveler.trace.cases import cases_of
from traveler.trace.whereabouts import whereabouts
from traveler.verdict.counting import counting
from traveler.verdict.state import LIFE

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


def affected(office: Office, records: Records, case: str, cause: Cause) -> tuple[str, tuple[Affected, ...]]:
    """What the units share, in words, and the units, by serial.

    A lot made here counts itself, for the pieces that are left of it; a lot of material counts the lots that
    were made of it, and the units with those.

    Raises:
        CannotDo: no such case, no such rank, a week that is none, or no unit.
    """
    name, serials = _found(office, records, case, cause)
    found = tuple(_affected(records, sorted(set(serials))))
    if not found:
        what = f"no unit has the {name}"
        raise CannotDo(what, "compare it with what 'traveler others' lists")
    return name, found


def _found(office: Office, records: Records, case: str, cause: Cause) -> tuple[str, Collection[str]]:
    if cause.kind == "rank":
        ranked = others(office, records, case).ranked
        if not (cause.value.isascii() and cause.value.isdigit() and 0 < int(cause.value) <= len(ranked)):
            what = f"there is no rank {cause.value!r}"
            raise CannotDo(what, f"'traveler others {case}' lists {len(ranked)}")
        chosen = ranked[int(cause.value) - 1]
        lots = [one.value for one in chosen.shared.factors if one.attribute.startswith("lot of")]
        wider = (_by_reference(office, records, Cause("lot", lot)) for lot in lots)
        return chosen.name, set(chosen.units).union(*wider)
    if cause.kind in BY_REFERENCE:
        return str(cause), _by_reference(office, records, cause)
    return str(cause), tuple(_built_as(office, records, case, cause))


def _by_reference(office: Office, records: Records, cause: Cause) -> set[str]:
    """Units found in the index; of a lot also those with what was made of it, wherever and whenever."""
    found = set(_using(office, records, cause))
    return found | set(_made_of_it(records, found)) if cause.kind == "lot" else found


def _using(office: Office, records: Records, cause: Cause) -> Iterator[str]:
    """Units with an entry about it that stands; a lot that was made here is one of them."""
    ref, entry = tables.ref.c, tables.entry.c
    joined = (ref.unit == entry.unit) & (ref.seq == entry.seq)
    asked = select(ref.unit, ref.seq, entry.at).join_from(tables.ref, tables.entry, joined)
    asked = asked.where(ref.kind == cause.kind, ref.value == reference_value(cause.value))
    used: dict[str, list[int]] = {}
    for row in records.ask(asked):
        day = office.day(time_of(row.at)) if cause.since or cause.until else None
        if day is None or (cause.since or day) <= day <= (cause.until or day):
            used.setdefault(row.unit, []).append(row.seq)
    struck = _struck(records, used)
    yield from (unit for unit, seqs in used.items() if not struck.get(unit, set()).issuperset(seqs))
    if cause.kind == "lot" and (made := records.unit(reference_value(cause.value))) is not None:
        yield made.serial


def _struck(records: Records, serials: Iterable[str]) -> dict[str, set[int]]:
    """Serial → numbers of its entries that are struck out."""
    found: dict[str, list[Entry]] = {}
    for one in records.entries_of_kinds(serials, ("struck",)):
        found.setdefault(one.unit, []).append(one)
    return {
        unit: {one.body.strikes for one in counting(strikes) if isinstance(one.body, Struck)}
        for unit, strikes in found.items()
    }


def _made_of_it(records: Records, found: Collection[str]) -> Iterator[str]:
    """The units into which lots among these went."""
    ref, named = tables.ref.c, sorted(found)
    for first in range(0, len(named), AT_ONCE):
        asked = select(ref.unit).where(ref.kind == "lot", ref.value.in_(named[first : first + AT_ONCE]))
        yield from records.ask(asked.distinct()).scalars()


def _built_as(office: Office, records: Records, case: str, cause: Cause) -> Iterator[str]:
    product = _product(records, case)
    zone = office.shop.zone
    for unit in records.units(product=product):
        is_it = {"revision": unit.revision, "variant": unit.variant}.get(cause.kind)
        if (is_it or week(unit.issued, zone)) == cause.value.strip():
            yield unit.serial


def _product(records: Records, case: str) -> str:
    from traveler.jobs.find_case import find_case

    unit = records.unit(find_case(records, case).opened.unit)
    return unit.product if unit is not None else ""


def _affected(records: Records, serials: Sequence[str]) -> Iterator[Affected]:
    entries: dict[str, list[Entry]] = {}
    for one in records.entries_of_kinds(serials, TOLD):
        entries.setdefault(one.unit, []).append(one)
    for serial in serials:
        unit, told = records.unit(serial), entries.get(serial, [])
        if unit is not None:
            life = next((one for one in reversed(counting(told)) if one.body.kind in LIFE), None)
            shipped = life if life is not None and isinstance(life.body, Shipped) else None
            where, complained = whereabouts(unit.state, told), bool(cases_of(told))
            yield Affected(unit, where, shipped, complained, tuple(told[:1]))
