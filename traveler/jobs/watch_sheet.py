"""The week's notices as a sheet for the director's desk."""

from __future__ import annotations

from pathlib import Path

from traveler.finding import Finding
from traveler.jobs.file_names import named_as
from traveler.jobs.office import Office
from traveler.jobs.watch import Watched
from traveler.jobs.whole_file import write_whole
from traveler.sheets.finish import Request, make
from traveler.sheets.resources import templates
from traveler.sheets.sheet import Printing
from traveler.trace.watching.notice import HEADINGS, grouped


def write_watch(office: Office, found: Watched, file: Path) -> tuple[Finding, ...]:
    """Writes the notices as a PDF; gives what was wrong with the sheet (then it may not be written).

    Raises:
        CannotDo: its name does not end in .pdf.
        OSError: the file cannot be written.
    """
    named_as(file, ".pdf")
    settings = office.shop.settings
    printing = Printing(settings, office.now, templates=templates(office.shop.folder))
    groups = grouped(found.notices)
    title = f"What to know since {office.day(found.since).isoformat()}"
    view = {
        "title": title,
        "subtitle": "",
        "shop": settings.name,
        "printed": printing.day,
        "levels": [
            (heading, [one for one in groups if one.level is level])
            for level, heading in HEADINGS.items()
            if any(one.level is level for one in groups)
        ],
    }
    sheet = make(Request("statistics/watch.html", title, {"report": view, "screen": False}), printing)
    if sheet.printed:
        write_whole(file, sheet.pdf)
    return sheet.findings
