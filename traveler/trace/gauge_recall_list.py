"""A recall as a list for other tools: a row for each reading, and for each value worked out from such."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import tzinfo

from traveler.record.blank import harmless
from traveler.trace.gauge_recall import Recall, RecalledReading, RecalledUnit
from traveler.verdict.reweighing import Reweighed

COLUMNS = (
    "serial", "product", "revision", "variant", "order", "where", "shipped", "slot", "check", "entry",
    "read_on", "by", "as_read", "corrected", "limits", "acceptance", "state_before", "state_after", "change",
    "beyond", "decides", "remark",
)  # fmt: skip
"""``change`` is ``fails``, ``clears`` or empty; ``decides`` is ``yes`` or ``no``; times are the shop's."""


def recall_rows(recall: Recall, zone: tzinfo) -> Iterator[dict[str, str]]:
    """The rows, units in the order of the recall."""
    for unit in recall.units:
        head = _head(unit)
        for reading in unit.readings:
            yield {**head, **_reading(reading, zone), **_result(reading.result)}
        for worked in unit.worked:
            said = {"slot": worked.slot, "check": worked.label, "entry": "", "read_on": "", "by": ""}
            said |= {"as_read": f"{worked.was} {worked.unit}", "corrected": f"{worked.now} {worked.unit}"}
            yield {**head, **said, "decides": "yes", "remark": "worked out", **_result(worked)}


def recall_csv(recall: Recall, zone: tzinfo) -> str:
    """The rows as CSV with a head line; no cell starts a formula."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    for row in recall_rows(recall, zone):
        writer.writerow({name: harmless(row[name]) for name in COLUMNS})
    return out.getvalue()


def recall_dict(recall: Recall, zone: tzinfo) -> dict[str, object]:
    """The whole answer for ``--json``."""
    rows: dict[str, list[dict[str, str]]] = {}
    for row in recall_rows(recall, zone):
        rows.setdefault(row["serial"], []).append(row)
    return {
        "gauge": recall.gauge,
        "error": str(recall.error),
        "since": recall.since.isoformat() if recall.since else None,
        "until": recall.until.isoformat(),
        "basis": recall.basis,
        "counts": recall.counts(),
        "units": [
            {
                "serial": one.unit.serial, "product": one.unit.product, "revision": one.unit.revision,
                "variant": one.unit.variant, "where": one.where, "shipped": one.shipped,
                "affected": bool(one.failing), "fitted_in": list(one.fitted_in),
                "readings": [_row(row) for row in rows[one.unit.serial]],
            }
            for one in recall.units
        ],
    }  # fmt: skip


def _row(row: dict[str, str]) -> dict[str, str]:
    """What is said of the reading itself; the unit is told once."""
    return {name: value for name, value in row.items() if name not in _UNIT}


_UNIT = ("serial", "product", "revision", "variant", "order", "where", "shipped")


def _head(unit: RecalledUnit) -> dict[str, str]:
    known = unit.unit
    return {
        "serial": known.serial, "product": known.product, "revision": known.revision,
        "variant": known.variant, "order": known.order or "", "where": unit.where,
        "shipped": "yes" if unit.shipped else "no",
    }  # fmt: skip


def _reading(reading: RecalledReading, zone: tzinfo) -> dict[str, str]:
    entry = reading.entry
    return {
        "slot": entry.slot or "", "check": reading.label, "entry": str(entry.seq),
        "read_on": entry.at.astimezone(zone).strftime("%Y-%m-%d %H:%M"), "by": entry.by,
        "as_read": reading.written, "corrected": reading.worth or "",
        "decides": "no" if reading.result is None else "yes",
        "remark": reading.problem or reading.idle,
    }  # fmt: skip


def _result(one: Reweighed | None) -> dict[str, str]:
    if one is None:
        names = ("limits", "acceptance", "state_before", "state_after", "change", "beyond")
        return dict.fromkeys(names, "")
    return {
        "limits": one.limits or "", "acceptance": one.acceptance or "", "state_before": str(one.before),
        "state_after": str(one.after or "cannot be worked out"),
        "change": "fails" if one.fails else "clears" if one.clears else "", "beyond": one.beyond or "",
    }  # fmt: skip
