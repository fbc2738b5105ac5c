"""Reports as files: the recall of a gauge, the notices of the week."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from traveler.files import check_ending, write_whole
from traveler.finding import Finding
from traveler.sheets.make import Request, fill_template, make_sheet
from traveler.sheets.sheet import Printing, Sheet
from traveler.sheets.templates import templates
from traveler.shop.gauges import Gauge
from traveler.shop.session import Session
from traveler.text import plural
from traveler.trace.recall import Recall, RecalledUnit, failing_rows
from traveler.trace.watch import HEADINGS, Watched, grouped

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
