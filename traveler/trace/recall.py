"""Recall of a gauge: its readings judged again without its error, and the units that this changes."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from functools import lru_cache

from traveler.files import csv_text
from traveler.measure.gauge_error import FoundError, corrected
from traveler.measure.number import Unreadable, format_number
from traveler.measure.quantity import Quantity
from traveler.record.entry import Entry, Read, struck_by
from traveler.record.records import Unit
from traveler.trace.history import whereabouts, with_customer
from traveler.verdict.case import Case
from traveler.verdict.deciding import Reweighed, newest_first, reweigh
from traveler.verdict.rows import Unfit, understood

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

    ``shipped``: it left, stopped afterwards or not. ``fitted_in``: for a lot or a part that fails, the
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
        return (*(reading.result for reading in self.readings if reading.result is not None), *self.worked)

    @property
    def failing(self) -> tuple[Reweighed, ...]:
        """The slots that would not have been accepted, or less readily."""
        return tuple(reweighing for reweighing in self.results if reweighing.fails)

    @property
    def clearing(self) -> tuple[Reweighed, ...]:
        """The slots that were better than they were thought to be."""
        return tuple(reweighing for reweighing in self.results if reweighing.clears)


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
        return tuple(unit for unit in self.units if unit.failing)

    def counts(self) -> dict[str, int]:
        """The answer in numbers."""
        readings = [reading for unit in self.units for reading in unit.readings]
        return {
            "units": len(self.units),
            "readings": len(readings),
            "deciding": sum(recalled_reading.result is not None for recalled_reading in readings),
            "struck": sum(recalled_reading.idle.startswith("struck") for recalled_reading in readings),
            "read_again": sum(
                recalled_reading.idle.startswith((READ_AGAIN, AS_FOUND)) for recalled_reading in readings
            ),
            "not_corrected": sum(bool(recalled_reading.problem) for recalled_reading in readings),
            "slots_failing": sum(len(unit.failing) for unit in self.units),
            "slots_clearing": sum(len(unit.clearing) for unit in self.units),
            "units_affected": len(self.affected),
            "units_affected_shipped": sum(recalled_unit.shipped for recalled_unit in self.affected),
        }


def affected_serials(recall: Recall, *, shipped: bool | None = None) -> tuple[str, ...]:
    """Serials of the units that would not have been accepted; only shipped ones, or only those still here."""
    return tuple(
        affected.unit.serial for affected in recall.affected if shipped is None or affected.shipped is shipped
    )  # fmt: skip


def recall_unit(
    unit: Unit, case: Case, seqs: Collection[int], error: FoundError, fitted_in: Sequence[str] = ()
) -> RecalledUnit:
    """One unit with the readings of these numbers weighed again.

    ``case`` needs the entries of the kinds :data:`NEEDED` only.
    """
    read = [entry for entry in case.entries if entry.seq in seqs and isinstance(entry.body, Read)]
    worth: dict[int, Quantity] = {}
    problems: dict[int, str] = {}
    for entry in read:
        found = _worth(entry, error)
        if isinstance(found, Quantity):
            worth[entry.seq] = found
        else:
            problems[entry.seq] = found
    results = reweigh(case, worth)
    by_entry = {reweighing.entry: reweighing for reweighing in results if reweighing.entry is not None}
    idle = dict(_idle(case, read))
    readings = tuple(
        RecalledReading(
            entry, _label(case, entry), _written(entry), _text(worth.get(entry.seq)),
            idle.get(entry.seq, ""), problems.get(entry.seq, ""), by_entry.get(entry.seq),
        )
        for entry in read
    )  # fmt: skip
    where = whereabouts(unit.state, case.entries)
    worked = tuple(reweighing for reweighing in results if reweighing.worked)
    shipped = with_customer(unit.state, case.entries) is not None
    return RecalledUnit(unit, where, shipped, readings, worked, tuple(fitted_in))


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
    return entry.body.with_unit if isinstance(entry.body, Read) else ""


def _label(case: Case, entry: Entry) -> str:
    spot = case.index.slots.get(entry.slot or "")
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


COLUMNS = (
    "serial", "product", "revision", "variant", "order", "where", "shipped", "slot", "check", "entry",
    "read_on", "by", "as_read", "corrected", "limits", "acceptance", "state_before", "state_after", "change",
    "beyond", "decides", "remark",
)  # fmt: skip
"""``change`` is ``fails``, ``clears`` or empty; ``decides`` is ``yes`` or ``no``; times are the shop's."""
OF_UNIT = 7
"""So many columns are about the unit, the others about the reading."""


def recall_rows(recall: Recall, zone: tzinfo) -> Iterator[dict[str, str]]:
    """The rows, units in the order of the recall, worked-out values last."""
    for unit in recall.units:
        for reading in unit.readings:
            entry = reading.entry
            read = f"{entry.at.astimezone(zone):%Y-%m-%d %H:%M}"
            yield _row(
                unit, reading.result, entry.slot or "", reading.label, str(entry.seq), read, entry.by,
                reading.written, reading.worth or "", reading.problem or reading.idle,
            )  # fmt: skip
        for worked in unit.worked:
            values = (f"{worked.was} {worked.unit}", f"{worked.now} {worked.unit}", "worked out")
            yield _row(unit, worked, worked.slot, worked.label, "", "", "", *values)


def _row(unit: RecalledUnit, weighed: Reweighed | None, *said: str) -> dict[str, str]:
    known, (*about, as_read, corrected, remark) = unit.unit, said
    judged = ("",) * 6 if weighed is None else (
        weighed.limits or "", weighed.acceptance or "", str(weighed.before),
        str(weighed.after or "cannot be worked out"),
        "fails" if weighed.fails else "clears" if weighed.clears else "", weighed.beyond or "",
    )  # fmt: skip
    cells = (
        known.serial, known.product, known.revision, known.variant, known.order or "", unit.where,
        "yes" if unit.shipped else "no", *about, as_read, corrected, *judged,
        "no" if weighed is None else "yes", remark,
    )  # fmt: skip
    return dict(zip(COLUMNS, cells, strict=True))


def recall_csv(recall: Recall, zone: tzinfo) -> str:
    """The rows as CSV with a head line."""
    return csv_text([COLUMNS, *(row.values() for row in recall_rows(recall, zone))])


def recall_dict(recall: Recall, zone: tzinfo) -> dict[str, object]:
    """The whole answer for ``--json``; what is said of a unit is shown once."""
    readings: dict[str, list[dict[str, str]]] = {}
    for row in recall_rows(recall, zone):
        readings.setdefault(row["serial"], []).append({name: row[name] for name in COLUMNS[OF_UNIT:]})
    return {
        "gauge": recall.gauge,
        "error": str(recall.error),
        "since": recall.since.isoformat() if recall.since else None,
        "until": recall.until.isoformat(),
        "basis": recall.basis,
        "counts": recall.counts(),
        "units": [
            {
                "serial": unit.unit.serial, "product": unit.unit.product, "revision": unit.unit.revision,
                "variant": unit.unit.variant, "where": unit.where, "shipped": unit.shipped,
                "affected": bool(unit.failing), "fitted_in": list(unit.fitted_in),
                "readings": readings[unit.unit.serial],
            }
            for unit in recall.units
        ],
    }  # fmt: skip


def failing_rows(unit: RecalledUnit) -> tuple[tuple[str, ...], ...]:
    """Slot, what, limits, read, without error, state, out by: a row for each slot that fails."""
    return tuple(
        (
            failing.slot, failing.label, failing.acceptance or failing.limits or "",
            f"{failing.was} {failing.unit}", f"{failing.now} {failing.unit}",
            f"{failing.before} → {failing.after or 'not known'}", failing.beyond or "",
        )
        for failing in unit.failing
    )  # fmt: skip
