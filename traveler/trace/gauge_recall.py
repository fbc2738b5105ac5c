"""Which readings a wrong gauge made, what they are worth without its error, and which units that turns.

Only readings that decide are weighed again; those struck out, and those that were read again later, are
listed with what they are worth and the reason why they decide nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from traveler.measure.found_error import FoundError, corrected
from traveler.measure.number import format_number
from traveler.measure.quantity import Quantity
from traveler.measure.unreadable import Unreadable
from traveler.record.entry import Entry, Read
from traveler.record.unit import Unit
from traveler.trace.history import struck_by
from traveler.trace.whereabouts import STANDING_STILL, whereabouts
from traveler.verdict.case import Case
from traveler.verdict.judging import newest_first
from traveler.verdict.reweighing import Reweighed, reweigh
from traveler.verdict.weighing import Unfit, understood

NEEDED = ("issued", "read", "struck", "stopped", "decided", "placed", "shipped")
"""The kinds of entries that a recall looks at; whatever else was written about the unit is not read."""


READ_AGAIN, AS_FOUND = "read again in", "as found; as left it is"
"""How it begins why a reading decides nothing; the number of the entry that decides follows."""


@dataclass(frozen=True, slots=True)
class RecalledReading:
    """One reading made with the gauge.

    ``worth`` is the reading with the error taken off, with its unit; None where ``problem`` says why not.
    ``idle`` says why it decides nothing (struck out, read again), empty where it decides. ``result`` is its
    slot before and after, for a reading that decides.
    """

    entry: Entry
    label: str
    written: str
    worth: str | None
    idle: str = ""
    problem: str = ""
    result: Reweighed | None = None


@dataclass(frozen=True, slots=True)
class RecalledUnit:
    """A unit, where it is now, its readings in the order of its entries, and what was worked out from them.

    ``shipped``: it left the house, stopped since or not. ``fitted_in``: for a lot or a part that fails, the
    units it was fitted in.
    """

    unit: Unit
    where: str
    shipped: bool
    readings: tuple[RecalledReading, ...]
    worked: tuple[Reweighed, ...] = ()
    fitted_in: tuple[str, ...] = ()

    @property
    def results(self) -> tuple[Reweighed, ...]:
        """Every slot that was weighed again, worked-out ones last."""
        return (*(one.result for one in self.readings if one.result is not None), *self.worked)

    @property
    def failing(self) -> tuple[Reweighed, ...]:
        """The slots that would not have been accepted, or less readily."""
        return tuple(one for one in self.results if one.fails)

    @property
    def clearing(self) -> tuple[Reweighed, ...]:
        """The slots that were better than they were thought to be."""
        return tuple(one for one in self.results if one.clears)


@dataclass(frozen=True, slots=True)
class Recall:
    """The answer: every unit with a reading made with the gauge from ``since`` (None: ever) until ``until``.

    Units with a slot that fails come first, then by serial. ``basis`` says in words why it begins there.
    """

    gauge: str
    error: FoundError
    since: datetime | None
    until: datetime
    basis: str
    units: tuple[RecalledUnit, ...]

    @property
    def affected(self) -> tuple[RecalledUnit, ...]:
        """The units with a slot that would not have been accepted."""
        return tuple(one for one in self.units if one.failing)

    def counts(self) -> dict[str, int]:
        """The answer in numbers."""
        readings = [reading for one in self.units for reading in one.readings]
        return {
            "units": len(self.units),
            "readings": len(readings),
            "deciding": sum(one.result is not None for one in readings),
            "struck": sum(one.idle.startswith("struck") for one in readings),
            "read_again": sum(one.idle.startswith((READ_AGAIN, AS_FOUND)) for one in readings),
            "not_corrected": sum(bool(one.problem) for one in readings),
            "slots_failing": sum(len(one.failing) for one in self.units),
            "slots_clearing": sum(len(one.clearing) for one in self.units),
            "units_affected": len(self.affected),
            "units_affected_shipped": sum(one.shipped for one in self.affected),
        }


def affected_serials(recall: Recall, *, shipped: bool | None = None) -> tuple[str, ...]:
    """Serials of the units that would not have been accepted; only shipped ones, or only those still here."""
    return tuple(
        one.unit.serial for one in recall.affected if shipped is None or one.shipped is shipped
    )  # fmt: skip


def recall_unit(
    unit: Unit, case: Case, seqs: Collection[int], error: FoundError, fitted_in: Sequence[str] = ()
) -> RecalledUnit:
    """One unit with the readings of these numbers weighed again.

    ``case`` needs the entries of the kinds :data:`NEEDED` only.
    """
    read = [one for one in case.entries if one.seq in seqs and isinstance(one.body, Read)]
    worth: dict[int, Quantity] = {}
    problems: dict[int, str] = {}
    for entry in read:
        found = _worth(entry, error)
        if isinstance(found, Quantity):
            worth[entry.seq] = found
        else:
            problems[entry.seq] = found
    results = reweigh(case, worth)
    by_entry = {one.entry: one for one in results if one.entry is not None}
    idle = dict(_idle(case, read))
    readings = tuple(
        RecalledReading(
            entry, _label(case, entry), _written(entry), _text(worth.get(entry.seq)),
            idle.get(entry.seq, ""), problems.get(entry.seq, ""), by_entry.get(entry.seq),
        )
        for entry in read
    )  # fmt: skip
    where = whereabouts(unit.state, case.entries)
    worked = tuple(one for one in results if one.worked)
    return RecalledUnit(unit, where, _left(unit, case), readings, worked, tuple(fitted_in))


def _left(unit: Unit, case: Case) -> bool:
    """Whether the last that was done with the crate is that it left, and it is not being worked on again."""
    moved = [one for one in case.standing if one.body.kind in ("placed", "shipped")]
    still = unit.state == "shipped" or unit.state in STANDING_STILL
    return bool(moved) and moved[-1].body.kind == "shipped" and still


def _worth(entry: Entry, error: FoundError) -> Quantity | str:
    """What the reading is worth; why it cannot be said."""
    body = entry.body
    return _without(body.value, body.unit, error) if isinstance(body, Read) else "no reading"


@lru_cache(maxsize=65536)
def _without(value: str, unit: str | None, error: FoundError) -> Quantity | str:
    """Kept, since a shop's readings repeat."""
    read = understood(value, unit, None)
    if isinstance(read, Unfit):
        return read.what
    try:
        return corrected(read, error)
    except Unreadable as problem:
        return problem.what


@lru_cache(maxsize=65536)
def _text(quantity: Quantity | None) -> str | None:
    return None if quantity is None else f"{format_number(quantity.value, quantity.decimals)} {quantity.unit}"


def _written(entry: Entry) -> str:
    """As it was written, with its unit where that stood beside it."""
    body = entry.body
    if not isinstance(body, Read):
        return ""
    return body.written if body.unit_from == "written" or not body.unit else f"{body.written} {body.unit}"


def _label(case: Case, entry: Entry) -> str:
    spot = case.planned.spots.get(entry.slot or "")
    return spot.slot.label if spot is not None else ""


def _idle(case: Case, read: Sequence[Entry]) -> Iterator[tuple[int, str]]:
    """Number of an entry → why it decides nothing."""
    struck: Mapping[int, int] = struck_by(case.entries)
    for entry in read:
        if entry.seq in struck:
            yield entry.seq, f"struck out by #{struck[entry.seq]}"
            continue
        filled = case.filled.get(entry.slot or "")
        if filled is None:
            yield entry.seq, "its slot is not in the plan"
            continue
        rules = newest_first(filled.entries)[0][0]
        if rules.seq != entry.seq:
            found = isinstance(entry.body, Read) and entry.body.as_found
            yield entry.seq, f"{AS_FOUND} #{rules.seq}" if found else f"{READ_AGAIN} #{rules.seq}"
