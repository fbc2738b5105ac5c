"""The report as pages: one template, laid out as a PDF for the printer or written as one HTML file."""

from __future__ import annotations

import base64
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from traveler.sheets.finish import Request, fill, make
from traveler.sheets.pictures import SCHEME, Album
from traveler.sheets.sheet import Printing, Sheet
from traveler.trace.reports.pictures import Drawn, distinct, of_series, overview
from traveler.trace.reports.product_report import ProductReport
from traveler.trace.reports.rows import HEADS, rows
from traveler.trace.reports.series_report import SeriesReport
from traveler.trace.statistics.wording import counted, percent

TEMPLATE = "statistics/report.html"


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture on the page: where it is taken from, what it shows, its width in mm."""

    source: str
    words: str
    width: float


@dataclass(frozen=True, slots=True)
class Section:
    """One series on the page: its heading, its limits, its pictures, what is said about what."""

    heading: str
    limits: str
    figures: tuple[Figure, ...]
    said: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ReportView:
    """Everything the template lays out; no value is worked out there."""

    title: str
    subtitle: str
    notes: tuple[str, ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    figures: tuple[Figure, ...]
    yields: tuple[tuple[str, ...], ...]
    said: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    shop: str
    printed: str


def report_pdf(report: ProductReport, printing: Printing) -> tuple[Sheet, tuple[Drawn, ...]]:
    """The report as a tagged PDF, and its pictures.

    Findings: those of the page engine (SHT), none of them about the numbers.
    """
    album = Album()

    def place(drawn: Drawn) -> str:
        album.kept[f"{drawn.name}.svg"] = (drawn.picture.svg(), "image/svg+xml")
        return f"{SCHEME}{drawn.name}.svg"

    view, drawn = _view(report, printing, place)
    request = Request(TEMPLATE, view.title, {"report": view, "screen": False}, album=album)
    return make(request, printing), drawn


def report_html(report: ProductReport, printing: Printing) -> tuple[bytes, tuple[Drawn, ...]]:
    """The report as one HTML file that needs nothing else: pictures are inside it. And its pictures."""

    def place(drawn: Drawn) -> str:
        return f"data:image/svg+xml;base64,{base64.b64encode(drawn.picture.svg()).decode()}"

    view, drawn = _view(report, printing, place)
    request = Request(TEMPLATE, view.title, {"report": view, "screen": True})
    return fill(request, printing).encode("utf-8"), drawn


def _view(
    report: ProductReport, printing: Printing, place: Callable[[Drawn], str]
) -> tuple[ReportView, tuple[Drawn, ...]]:
    whole = list(overview(report))
    single = [(one, list(of_series(one))) for one in report.series] if report.narrowed.check else []
    drawn = distinct([*whole, *(picture for _, pictures in single for picture in pictures)])
    figures = [Figure(place(one), one.picture.description, _width(one)) for one in drawn]
    taken = iter(figures[len(whole) :])
    sections = tuple(_section(one, [next(taken) for _ in pictures]) for one, pictures in single)
    view = ReportView(
        title=title_of(report),
        subtitle=subtitle_of(report, printing),
        notes=report.notes,
        heads=HEADS,
        rows=tuple(row.cells for row in rows(report.series)),
        figures=tuple(figures[: len(whole)]),
        yields=yield_rows(report),
        said=overall(report),
        sections=sections,
        shop=printing.settings.name,
        printed=printing.day,
    )
    return view, drawn


def title_of(report: ProductReport) -> str:
    """``Statistics of skein-reel, check runout``."""
    check = f", check {report.narrowed.check}" if report.narrowed.check else ""
    return f"Statistics of {report.product}{check}"


def subtitle_of(report: ProductReport, printing: Printing) -> str:
    """How many units, from when to when."""
    zone = printing.settings.time_zone
    asked = report.narrowed
    parts = [counted(report.units, "unit")]
    parts += [f"read from {_day(asked.since, zone)}"] if asked.since is not None else []
    parts += [f"read until {_day(asked.until, zone)}"] if asked.until is not None else []
    parts += [f"{name} {value}" for name, value in asked.position.items()]
    return ", ".join(parts)


def _day(moment: datetime, zone: str) -> str:
    from zoneinfo import ZoneInfo

    return moment.astimezone(ZoneInfo(zone)).date().isoformat()


def overall(report: ProductReport) -> tuple[tuple[str, str], ...]:
    """What is said of the product as a whole, and of a check over all its series."""
    said = [] if report.narrowed.check else [("yield", report.yields.sentence)]
    if report.narrowed.check and not report.series:  # a statement has no readings, only a yield
        said += [("first time", f"{line.first_pass.sentence}.") for line in report.yields.checks]
    if report.troubles.total:
        said.append(("what went wrong", report.troubles.sentence))
    if report.findings is not None:
        said.append(("findings", report.findings.sentence))
    for one in report.across:
        said += [(f"{one.check}, {about}", text) for about, text in one.sentences()]
    return tuple(said)


def yield_rows(report: ProductReport) -> tuple[tuple[str, ...], ...]:
    """A row for each operation and each check in it: operation, check, first time, of how many, interval."""
    lines = []
    for operation in report.yields.operations:
        lines.append(operation)
        lines += [line for line in report.yields.checks if line.operation == operation.operation]
    told = []
    for line in lines:
        share, (low, high) = line.first_pass.share, line.first_pass.wilson
        told.append((
            line.operation, line.check or "all of it", "" if share is None else percent(share),
            f"{line.first_pass.hits} of {line.first_pass.n}", f"{percent(low)} to {percent(high)}",
        ))  # fmt: skip
    return tuple(told)


def _section(report: SeriesReport, figures: Sequence[Figure]) -> Section:
    one = report.series
    heading = f"{one.title}: {one.label}" if one.title != one.check else one.label
    return Section(heading, one.limits_text, tuple(figures), report.sentences())


def _width(drawn: Drawn) -> float:
    return round(drawn.picture.figure.get_figwidth() * 25.4, 1)
