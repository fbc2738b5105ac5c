"""What is stopped in the shop: every nonconformance with where its unit is and what was decided."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from traveler.record.entry import Entry
from traveler.record.records import Records
from traveler.record.unit import Unit
from traveler.trace.whereabouts import whereabouts
from traveler.verdict.counting import counting
from traveler.verdict.stops import Stop, stops_of

TOLD = ("stopped", "decided", "struck", "placed", "shipped")
"""The kinds of entries that say what is stopped, what was decided on it, and where the unit is."""


@dataclass(frozen=True, slots=True)
class StoppedUnit:
    """One stop of one unit. ``where`` is where the unit is now."""

    unit: Unit
    where: str
    stop: Stop

    @property
    def state(self) -> str:
        """``open``, or what was decided."""
        decision = self.stop.decision
        return "open" if decision is None else decision.decision.replace("_", " ")

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        entry, decision, decided = self.stop.entry, self.stop.decision, self.stop.decided
        return {
            "serial": self.unit.serial,
            "product": self.unit.product,
            "order": self.unit.order,
            "where": self.where,
            "stop": entry.seq,
            "slot": entry.slot,
            "what": self.stop.what,
            "by": entry.by,
            "at": entry.at.isoformat(),
            "state": self.state,
            "decision": decision.model_dump(mode="json") if decision is not None else None,
            "decided_by": decided.by if decided is not None else None,
            "decided_at": decided.at.isoformat() if decided is not None else None,
        }


def stops_of_shop(records: Records, *, every: bool = False) -> tuple[StoppedUnit, ...]:
    """The open stops of the shop, the oldest first; ``every``: those decided on too."""
    units = {unit.serial: unit for unit in records.stopped_units()}
    entries = records.entries_of_kinds(units, TOLD)
    found = (
        one
        for serial, own in groupby(entries, key=lambda entry: entry.unit)
        for one in _of_unit(units[serial], tuple(own))
        if every or one.stop.open
    )
    return tuple(sorted(found, key=lambda one: (one.stop.entry.at, one.unit.serial, one.stop.entry.seq)))


def _of_unit(unit: Unit, entries: tuple[Entry, ...]) -> Iterator[StoppedUnit]:
    where = whereabouts(unit.state, entries)
    return (StoppedUnit(unit, where, stop) for stop in stops_of(counting(entries)))
