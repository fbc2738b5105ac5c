"""The statistics report as PDF, as one HTML file, and its plots as PNG."""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from traveler.files import check_ending, write_whole
from traveler.finding import Finding
from traveler.sheets.make import Request, fill_template, make_sheet
from traveler.sheets.pictures import SCHEME, Album
from traveler.sheets.sheet import Printing, Sheet
from traveler.sheets.words import templates
from traveler.shop.session import Session
from traveler.text import plural
from traveler.trace.plots.plot import Plot
from traveler.trace.plots.product import MOST_ROWS, ToleranceRow, pareto_bars, tolerance_rows
from traveler.trace.plots.series import before_after, control_chart, histogram
from traveler.trace.stats.numbers import percent
from traveler.trace.stats.product_report import ProductReport
from traveler.trace.stats.series_report import HEADS, SeriesReport, index_text, series_rows
from traveler.trace.stats.summary import Normal


@dataclass(frozen=True)
class Drawn:
    """One picture; ``name`` is safe as the name of a file."""

    name: str
    picture: Plot


def overview(report: ProductReport) -> Iterator[Drawn]:
    """The whole product at a glance: every check in its tolerance, and what goes wrong most often."""
    shown = [
        check_series
        for check_series in report.series
        if check_series.series.bounds != (None, None) and check_series.n
    ]
    groups = [shown[at : at + MOST_ROWS] for at in range(0, len(shown), MOST_ROWS)]
    for number, group in enumerate(groups, 1):
        drawn = [_row(series_report) for series_report in group]
        title = "Readings in their tolerances" + (f", {number} of {len(groups)}" if len(groups) > 1 else "")
        yield Drawn(f"tolerances-{number}", tolerance_rows(drawn, title=title))
    if report.troubles.total:
        yield Drawn("troubles", pareto_bars(report.troubles, title="What went wrong"))
    if report.findings is not None and report.findings.total:
        yield Drawn("findings", pareto_bars(report.findings, title="Findings that stand now"))


def _row(report: SeriesReport) -> ToleranceRow:
    reading_series = report.series
    ppk = index_text(report)
    word = f"Ppk {ppk.split(' ')[0]}" if report.capability is not None and report.capability.overall else ppk
    return ToleranceRow(
        reading_series.label, reading_series.values, reading_series.lower, reading_series.upper, word
    )


def of_series(report: SeriesReport) -> Iterator[Drawn]:
    """The pictures of one series: chart, histogram, and before against after where it was adjusted."""
    reading_series = report.series
    stem = plot_file_name(reading_series.label)
    shared = {
        "title": reading_series.label,
        "unit": reading_series.unit,
        "lower": reading_series.lower,
        "upper": reading_series.upper,
    }
    if report.n > 1:
        yield Drawn(f"{stem}-chart", control_chart(report.chart, **shared))  # type: ignore[arg-type]
    if report.n:
        curve = report.normal.judgement in (Normal.PLAUSIBLE, Normal.DOUBTFUL)
        yield Drawn(f"{stem}-histogram", histogram(reading_series.values, curve=curve, **shared))  # type: ignore[arg-type]
    if reading_series.pairs:
        yield Drawn(f"{stem}-adjusting", before_after(reading_series.pairs, **shared))  # type: ignore[arg-type]


def plot_file_name(label: str) -> str:
    """The label as the name of a file: small letters, digits and hyphens.

    >>> plot_file_name("runout (again) spindle=3,end=far [revision C]")
    'runout-again-spindle-3-end-far-revision-c'
    """
    return re.sub(r"[^a-z0-9]+", "-", label.casefold()).strip("-") or "check"


def all_pictures(report: ProductReport) -> tuple[Drawn, ...]:
    """Every picture of the report, names made different where two would be alike."""
    drawn = list(overview(report))
    if report.narrowed.check is not None:
        drawn += [picture for check_series in report.series for picture in of_series(check_series)]
    return distinct(drawn)


def distinct(drawn: Sequence[Drawn]) -> tuple[Drawn, ...]:
    """The pictures under names of which none comes twice."""
    seen: dict[str, int] = {}
    named = []
    for value in drawn:
        seen[value.name] = seen.get(value.name, 0) + 1
        number = seen[value.name]
        named.append(value if number == 1 else Drawn(f"{value.name}-{number}", value.picture))
    return tuple(named)


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
    return make_sheet(request, printing), drawn


def report_html(report: ProductReport, printing: Printing) -> tuple[bytes, tuple[Drawn, ...]]:
    """The report as one HTML file that needs nothing else: pictures are inside it. And its pictures."""

    def place(drawn: Drawn) -> str:
        return f"data:image/svg+xml;base64,{base64.b64encode(drawn.picture.svg()).decode()}"

    view, drawn = _view(report, printing, place)
    request = Request(TEMPLATE, view.title, {"report": view, "screen": True})
    return fill_template(request, printing).encode("utf-8"), drawn


def _view(
    report: ProductReport, printing: Printing, place: Callable[[Drawn], str]
) -> tuple[ReportView, tuple[Drawn, ...]]:
    whole = list(overview(report))
    single = (
        [(check_series, list(of_series(check_series))) for check_series in report.series]
        if report.narrowed.check
        else []
    )
    drawn = distinct([*whole, *(picture for _, pictures in single for picture in pictures)])
    figures = [Figure(place(value), value.picture.description, _width(value)) for value in drawn]
    taken = iter(figures[len(whole) :])
    sections = tuple(
        _section(series_report, [next(taken) for _ in pictures]) for series_report, pictures in single
    )
    view = ReportView(
        title=title_of(report),
        subtitle=subtitle_of(report, printing),
        notes=report.notes,
        heads=HEADS,
        rows=tuple(row.cells for row in series_rows(report.series)),
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
    parts = [plural(report.units, "unit")]
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
    for across in report.across:
        said += [(f"{across.check}, {about}", text) for about, text in across.sentences()]
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
    reading_series = report.series
    heading = (
        f"{reading_series.title}: {reading_series.label}"
        if reading_series.title != reading_series.check
        else reading_series.label
    )
    return Section(heading, reading_series.limits_text, tuple(figures), report.sentences())


def _width(drawn: Drawn) -> float:
    return round(drawn.picture.figure.get_figwidth() * 25.4, 1)


@dataclass(frozen=True, slots=True)
class Written:
    """The files that were written, and what was wrong with the sheet."""

    files: tuple[Path, ...]
    findings: tuple[Finding, ...]


def write_report(
    session: Session,
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
    check_ending(pdf, ".pdf")
    check_ending(html, ".html", ".htm")
    settings = session.shop.settings
    printing = Printing(settings, session.now, templates=templates(session.shop.folder))
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
        files += [write_whole(png / f"{value.name}.png", value.picture.png()) for value in drawn]
    return Written(tuple(files), findings)
