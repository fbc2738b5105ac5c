"""A report as files: PDF for the printer, one HTML page, a folder of PNG pictures. Each is written whole."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from traveler.finding import Finding
from traveler.jobs.file_names import named_as
from traveler.jobs.office import Office
from traveler.jobs.whole_file import write_whole
from traveler.sheets.resources import templates
from traveler.sheets.sheet import Printing
from traveler.trace.reports.page import report_html, report_pdf
from traveler.trace.reports.pictures import all_pictures
from traveler.trace.reports.product_report import ProductReport


@dataclass(frozen=True, slots=True)
class Written:
    """The files that were written, and what was wrong with the sheet."""

    files: tuple[Path, ...]
    findings: tuple[Finding, ...]


def write_report(
    office: Office,
    report: ProductReport,
    *,
    pdf: Path | None = None,
    html: Path | None = None,
    png: Path | None = None,
) -> Written:
    """Writes what is asked for; a file that is there is replaced.

    Findings: those of the page engine; the PDF is not written where one of them blocks.

    Raises:
        CannotDo: a file's name ends otherwise than its kind.
        OSError: a file cannot be written.
    """
    named_as(pdf, ".pdf")
    named_as(html, ".html", ".htm")
    settings = office.shop.settings
    printing = Printing(settings, office.now, templates=templates(office.shop.folder))
    files: list[Path] = []
    findings: tuple[Finding, ...] = ()
    if pdf is not None:
        sheet, _ = report_pdf(report, printing)
        findings = sheet.findings
        if sheet.printed:
            files.append(write_whole(pdf, sheet.pdf))
    if html is not None:
        files.append(write_whole(html, report_html(report, printing)[0]))
    if png is not None:
        drawn = all_pictures(report)
        files += [write_whole(png / f"{one.name}.png", one.picture.png()) for one in drawn]
    return Written(tuple(files), findings)
