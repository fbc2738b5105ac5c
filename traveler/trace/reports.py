"""Reports as files: the recall of a gauge, the notices of the week."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta, tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo

from traveler.files import check_ending, csv_text, write_whole
from traveler.finding import CannotDo, Finding
from traveler.sheets.make import Request, fill_template, make_sheet
from traveler.sheets.sheet import Printing, Sheet
from traveler.sheets.templates import templates
from traveler.shop.gauges import Gauge
from traveler.shop.session import Session
from traveler.text import plural
from traveler.trace.recall import Recall, RecalledUnit
from traveler.trace.watch import HEADINGS, Watched, grouped
from traveler.verdict.deciding import Reweighed

TEMPLATE = "statistics/recall.html"


def recall_sheet(recall: Recall, gauge: Gauge, printing: Printing) -> Sheet:
    """The recall as a tagged PDF. Findings: those of the page engine (SHT)."""
    view = recall_view(recall, gauge, printing)
    return make_sheet(Request(TEMPLATE, str(view["title"]), {"report": view, "screen": False}), printing)


def recall_page(recall: Recall, gauge: Gauge, printing: Printing) -> bytes:
    """The recall as one HTML file that needs nothing else."""
    view = recall_view(recall, gauge, printing)
    return fill_template(
        Request(TEMPLATE, str(view["title"]), {"report": view, "screen": True}), printing
    ).encode("utf-8")


def recall_view(recall: Recall, gauge: Gauge, printing: Printing) -> dict[str, object]:
    """What stands on the sheet; the template lays it out."""
    return {
        "title": f"Recall of gauge {gauge.id}",
        "subtitle": gauge.title or gauge.kind,
        "shop": printing.settings.name,
        "printed": printing.day,
        "facts": tuple(facts(recall, gauge, printing)),
        "failing": tuple(map(_failing, recall.affected)),
        "standing": tuple(
            (unit.unit.serial, unit.where, plural(len(unit.results), "slot"))
            for unit in recall.units
            if not unit.failing
        ),
        "idle": tuple(
            (
                unit.unit.serial,
                reading.entry.slot or "",
                reading.written,
                reading.worth or "",
                reading.problem or reading.idle,
            )
            for unit in recall.units
            for reading in unit.readings
            if reading.result is None
        ),
    }  # fmt: skip


def facts(recall: Recall, gauge: Gauge, printing: Printing) -> Iterator[tuple[str, str]]:
    """What was asked, and the answer in numbers."""
    zone = ZoneInfo(printing.settings.time_zone)
    first = f"{recall.since.astimezone(zone):%Y-%m-%d}" if recall.since else "the beginning"
    last = f"{recall.until.astimezone(zone) - timedelta(days=1):%Y-%m-%d}"
    count = recall.counts()
    yield "error", f"{recall.error} (shown minus true: plus is a gauge that showed too much)"
    yield "time in question", f"{first} to {last}, {recall.basis}"
    if gauge.range:
        yield "range", gauge.range
    made = f"{plural(count['readings'], 'reading')} of {plural(count['units'], 'unit')}"
    idle = f"{count['read_again']} read again later, {count['struck']} struck out"
    yield "readings", f"{made}: {count['deciding']} decide, {idle}"
    if count["not_corrected"]:
        yield "not weighed", f"{plural(count['not_corrected'], 'reading')}: see below"
    slots = plural(count["slots_failing"], "slot")
    yield "would not have been accepted", f"{plural(count['units_affected'], 'unit')}, {slots}"
    if count["units_affected"]:
        here = count["units_affected"] - count["units_affected_shipped"]
        yield "where they are", f"{here} still here, {count['units_affected_shipped']} shipped"
    if count["slots_clearing"]:
        yield "better than thought", plural(count["slots_clearing"], "slot")


def _failing(unit: RecalledUnit) -> dict[str, object]:
    known = unit.unit
    inside = f"; fitted in {', '.join(unit.fitted_in)}" if unit.fitted_in else ""
    rows = tuple((slot.split("/")[0], *rest) for slot, *rest in failing_rows(unit))
    heading = f"{known.serial}, {known.product} {known.variant}, revision {known.revision}"
    return {"heading": heading, "where": unit.where + inside, "rows": rows}


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


def write_recall(session: Session, recalled: Recall, file: Path) -> tuple[Finding, ...]:
    """Writes the recall as a sheet, PDF or HTML by the ending of the file's name; gives findings about it.

    Raises:
        CannotDo: the name has another ending.
        OSError: the file cannot be written.
    """
    gauge = session.shop.gauges.named(recalled.gauge)
    printing = Printing(session.shop.settings, session.now, templates=templates(session.shop.folder))
    ending = file.suffix.lower()
    if ending in (".html", ".htm"):
        write_whole(file, recall_page(recalled, gauge, printing))
        return ()
    if ending != ".pdf":
        what = f"{file} is to be neither PDF nor HTML"
        raise CannotDo(what, "name it .pdf or .html")
    sheet = recall_sheet(recalled, gauge, printing)
    if sheet.printed:
        write_whole(file, sheet.pdf)
    return sheet.findings


def write_watch(session: Session, found: Watched, file: Path) -> tuple[Finding, ...]:
    """Writes the notices as a PDF; gives what was wrong with the sheet (then it may not be written).

    Raises:
        CannotDo: its name does not end in .pdf.
        OSError: the file cannot be written.
    """
    check_ending(file, ".pdf")
    settings = session.shop.settings
    printing = Printing(settings, session.now, templates=templates(session.shop.folder))
    groups = grouped(found.notices)
    title = f"What to know since {session.day(found.since).isoformat()}"
    view = {
        "title": title,
        "subtitle": "",
        "shop": settings.name,
        "printed": printing.day,
        "levels": [
            (heading, [group for group in groups if group.level is level])
            for level, heading in HEADINGS.items()
            if any(group.level is level for group in groups)
        ],
    }
    sheet = make_sheet(Request("statistics/watch.html", title, {"report": view, "screen": False}), printing)
    if sheet.printed:
        write_whole(file, sheet.pdf)
    return sheet.findings
