"""The statistics report as PDF, as one HTML file, and its plots as PNG."""

from __future__ import annotations

import base64
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from zoneinfo import ZoneInfo

from traveler.files import check_ending, write_whole
from traveler.finding import Finding
from traveler.sheets.make import Request, fill_template, make_sheet
from traveler.sheets.pictures import SCHEME, Album
from traveler.sheets.sheet import Printing, Sheet
from traveler.sheets.templates import templates
from traveler.shop.session import Session
from traveler.text import day_in, plural
from traveler.trace.plots.plot import Plot
from traveler.trace.plots.product import MOST_ROWS, ToleranceRow, pareto_bars, tolerance_rows
from traveler.trace.plots.series import Measured, before_after, control_chart, histogram
from traveler.trace.stats.numbers import percent
from traveler.trace.stats.product_report import ProductReport
from traveler.trace.stats.series_report import HEADS, SeriesReport, index_text, series_cells
from traveler.trace.stats.summary import Normal


@dataclass(frozen=True)
class Drawn:
    """One plot; ``name`` is safe as the name of a file; ``of``: the series it shows, None for the product."""

    name: str
    picture: Plot
    of: SeriesReport | None = None


def overview(report: ProductReport) -> Iterator[Drawn]:
    """Plots of the whole product: every check in its tolerance, and what goes wrong most often."""
    shown = [part for part in report.series if part.limited and part.n]
    groups = [shown[at : at + MOST_ROWS] for at in range(0, len(shown), MOST_ROWS)]
    for number, group in enumerate(groups, 1):
        title = "Readings in their tolerances" + (f", {number} of {len(groups)}" if len(groups) > 1 else "")
        yield Drawn(f"tolerances-{number}", tolerance_rows(list(map(_row, group)), title=title))
    if report.troubles.total:
        yield Drawn("troubles", pareto_bars(report.troubles, title="What went wrong"))
    if report.findings is not None and report.findings.total:
        yield Drawn("findings", pareto_bars(report.findings, title="Findings that stand now"))


def _row(report: SeriesReport) -> ToleranceRow:
    series, ppk = report.series, index_text(report)
    word = f"Ppk {ppk.split(' ')[0]}" if report.capability is not None and report.capability.overall else ppk
    return ToleranceRow(series.label, series.values, series.lower, series.upper, word)


def of_series(report: SeriesReport) -> Iterator[Drawn]:
    """Plots of one series: control chart, histogram, and before against after where it was adjusted."""
    series = report.series
    stem = plot_file_name(series.label)
    shared = Measured(series.label, series.unit, series.lower, series.upper)
    if report.n > 1:
        yield Drawn(f"{stem}-chart", control_chart(report.chart, shared), report)
    if report.n:
        curve = report.normal.judgement in (Normal.PLAUSIBLE, Normal.DOUBTFUL)
        yield Drawn(f"{stem}-histogram", histogram(series.values, shared, curve=curve), report)
    if series.pairs:
        yield Drawn(f"{stem}-adjusting", before_after(series.pairs, shared), report)


def plot_file_name(label: str) -> str:
    """The label as the name of a file: small letters, digits and hyphens.

    >>> plot_file_name("runout (again) spindle=3,end=far [revision C]")
    'runout-again-spindle-3-end-far-revision-c'
    """
    return re.sub(r"[^a-z0-9]+", "-", label.casefold()).strip("-") or "check"


def all_pictures(report: ProductReport) -> list[Drawn]:
    """Every plot of the report, under names of which none comes twice."""
    drawn = list(overview(report))
    if report.narrowed.check is not None:
        drawn += [plot for part in report.series for plot in of_series(part)]
    seen: Counter[str] = Counter()
    for at, plot in enumerate(drawn):
        seen[plot.name] += 1
        if seen[plot.name] > 1:
            drawn[at] = replace(plot, name=f"{plot.name}-{seen[plot.name]}")
    return drawn


TEMPLATE = "statistics/report.html"


def report_pdf(report: ProductReport, printing: Printing) -> tuple[Sheet, list[Drawn]]:
    """The report as a tagged PDF, and its plots.

    Findings: those of the page engine (SHT), none of them about the numbers.
    """
    drawn, album = all_pictures(report), Album()
    for plot in drawn:
        album.kept[f"{plot.name}.svg"] = (plot.picture.svg(), "image/svg+xml")
    view = _view(report, printing, [f"{SCHEME}{plot.name}.svg" for plot in drawn], drawn)
    request = Request(TEMPLATE, title_of(report), {"report": view, "screen": False}, album=album)
    return make_sheet(request, printing), drawn


def report_html(report: ProductReport, printing: Printing) -> tuple[bytes, list[Drawn]]:
    """The report as one HTML file that holds its plots, and the plots."""
    drawn = all_pictures(report)
    encoded = (base64.b64encode(plot.picture.svg()).decode() for plot in drawn)
    view = _view(report, printing, [f"data:image/svg+xml;base64,{text}" for text in encoded], drawn)
    request = Request(TEMPLATE, title_of(report), {"report": view, "screen": True})
    return fill_template(request, printing).encode("utf-8"), drawn


def _view(
    report: ProductReport, printing: Printing, sources: Sequence[str], drawn: Sequence[Drawn]
) -> Mapping[str, object]:
    """What the template lays out; each plot with its source, its words and its width in mm."""
    figures = [
        (plot.of, {"source": source, "words": plot.picture.description, "width": plot.picture.width})
        for source, plot in zip(sources, drawn, strict=True)
    ]
    return {
        "title": title_of(report),
        "subtitle": subtitle_of(report, printing),
        "notes": report.notes,
        "heads": HEADS,
        "rows": list(map(series_cells, report.series)),
        "figures": [figure for of, figure in figures if of is None],
        "yields": yield_rows(report),
        "said": overall(report),
        "sections": [
            _section(part, [figure for of, figure in figures if of is part])
            for part in (report.series if report.narrowed.check else ())
        ],
        "shop": printing.settings.name,
        "printed": printing.day,
    }


def _section(report: SeriesReport, figures: Sequence[Mapping[str, object]]) -> Mapping[str, object]:
    series = report.series
    heading = f"{series.title}: {series.label}" if series.title != series.check else series.label
    said = report.sentences()
    return {"heading": heading, "limits": series.limits_text, "figures": figures, "said": said}


def title_of(report: ProductReport) -> str:
    """``Statistics of skein-reel, check runout``."""
    check = f", check {report.narrowed.check}" if report.narrowed.check else ""
    return f"Statistics of {report.product}{check}"


def subtitle_of(report: ProductReport, printing: Printing) -> str:
    """How many units, from when to when."""
    zone, asked = ZoneInfo(printing.settings.time_zone), report.narrowed
    parts = [plural(report.units, "unit")]
    for word, moment in (("from", asked.since), ("until", asked.until)):
        parts += [f"read {word} {day_in(zone, moment)}"] if moment is not None else []
    return ", ".join([*parts, *(f"{name} {value}" for name, value in asked.position.items())])


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
