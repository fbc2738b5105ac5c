"""How much a gauge was used: look-ups in the index of references, whatever the size of the store."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import func, select

from traveler.record import tables
from traveler.record.columns import time_text
from traveler.record.records import Records
from traveler.record.references import reference_value

_REF, _ENTRY = tables.ref.c, tables.entry.c


@dataclass(frozen=True, slots=True)
class GaugeUse:
    """So many readings, struck ones too, of so many units."""

    readings: int = 0
    units: int = 0

    def as_dict(self) -> dict[str, int]:
        """For ``--json``."""
        return {"readings": self.readings, "units": self.units}


def used_gauges(records: Records) -> Mapping[str, GaugeUse]:
    """Gauge (in capitals) → its use, for every gauge that was ever read with."""
    counted = select(_REF.value, func.count(), func.count(_REF.unit.distinct()))
    asked = counted.where(_REF.kind == "gauge").group_by(_REF.value)
    rows: list[Any] = list(records.ask(asked))
    return {str(gauge): GaugeUse(readings, units) for gauge, readings, units in rows}


def used_since(records: Records, gauge: str, since: datetime) -> GaugeUse:
    """The use of a gauge from a moment on."""
    joined = (_REF.unit == _ENTRY.unit) & (_REF.seq == _ENTRY.seq)
    asked = select(func.count(), func.count(_REF.unit.distinct())).join_from(tables.ref, tables.entry, joined)
    asked = asked.where(_REF.kind == "gauge", _REF.value == reference_value(gauge))
    row: Any = records.ask(asked.where(_ENTRY.at >= time_text(since))).one()
    return GaugeUse(*row)


def read_with(records: Records, gauge: str, since: datetime | None, until: datetime) -> dict[str, set[int]]:
    """Unit → numbers of its entries that were read with the gauge, from ``since`` on and before ``until``.

    By when it was read, not recorded; struck ones are among them; by serial.
    """
    joined = (_REF.unit == _ENTRY.unit) & (_REF.seq == _ENTRY.seq)
    asked = select(_REF.unit, _REF.seq).join_from(tables.ref, tables.entry, joined)
    asked = asked.where(_REF.kind == "gauge", _REF.value == reference_value(gauge))
    asked = asked.where(_ENTRY.at < time_text(until))
    if since is not None:
        asked = asked.where(_ENTRY.at >= time_text(since))
    rows: Any = records.ask(asked.order_by(_REF.unit, _REF.seq))
    found: dict[str, set[int]] = {}
    for unit, seq in rows:
        found.setdefault(str(unit), set()).add(int(seq))
    return found
