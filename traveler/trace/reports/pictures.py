"""The pictures of a report, each with a name for its file and the sentence that tells what it shows."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from traveler.trace.reports.product_report import ProductReport
from traveler.trace.reports.rows import index
from traveler.trace.reports.series_report import SeriesReport
from traveler.trace.statistics.normality import Normal
from traveler.trace.statistics.plots.before_after import before_after
from traveler.trace.statistics.plots.control_chart import control_chart
from traveler.trace.statistics.plots.histogram import histogram
from traveler.trace.statistics.plots.pareto_bars import pareto_bars
from traveler.trace.statistics.plots.picture import Picture
from traveler.trace.statistics.plots.tolerance_rows import MOST, Row, tolerance_rows


@dataclass(frozen=True)
class Drawn:
    """One picture; ``name`` is safe as the name of a file."""

    name: str
    picture: Picture


def overview(report: ProductReport) -> Iterator[Drawn]:
    """The whole product at a glance: every check in its tolerance, and what goes wrong most often."""
    shown = [one for one in report.series if one.series.bounds != (None, None) and one.n]
    groups = [shown[at : at + MOST] for at in range(0, len(shown), MOST)]
    for number, group in enumerate(groups, 1):
        drawn = [_row(one) for one in group]
        title = "Readings in their tolerances" + (f", {number} of {len(groups)}" if len(groups) > 1 else "")
        yield Drawn(f"tolerances-{number}", tolerance_rows(drawn, title=title))
    if report.troubles.total:
        yield Drawn("troubles", pareto_bars(report.troubles, title="What went wrong"))
    if report.findings is not None and report.findings.total:
        yield Drawn("findings", pareto_bars(report.findings, title="Findings that stand now"))


def _row(report: SeriesReport) -> Row:
    one = report.series
    ppk = index(report)
    word = f"Ppk {ppk.split(' ')[0]}" if report.capability is not None and report.capability.overall else ppk
    return Row(one.label, one.values, one.lower, one.upper, word)


def of_series(report: SeriesReport) -> Iterator[Drawn]:
    """The pictures of one series: chart, histogram, and before against after where it was adjusted."""
    one = report.series
    stem = file_name(one.label)
    shared = {"title": one.label, "unit": one.unit, "lower": one.lower, "upper": one.upper}
    if report.n > 1:
        yield Drawn(f"{stem}-chart", control_chart(report.chart, **shared))  # type: ignore[arg-type]
    if report.n:
        curve = report.normal.judgement in (Normal.PLAUSIBLE, Normal.DOUBTFUL)
        yield Drawn(f"{stem}-histogram", histogram(one.values, curve=curve, **shared))  # type: ignore[arg-type]
    if one.pairs:
        yield Drawn(f"{stem}-adjusting", before_after(one.pairs, **shared))  # type: ignore[arg-type]


def file_name(label: str) -> str:
    """The label as the name of a file: small letters, digits and hyphens.

    >>> file_name("runout (again) spindle=3,end=far [revision C]")
    'runout-again-spindle-3-end-far-revision-c'
    """
    return re.sub(r"[^a-z0-9]+", "-", label.casefold()).strip("-") or "check"


def all_pictures(report: ProductReport) -> tuple[Drawn, ...]:
    """Every picture of the report, names made different where two would be alike."""
    drawn = list(overview(report))
    if report.narrowed.check is not None:
        drawn += [picture for one in report.series for picture in of_series(one)]
    return distinct(drawn)


def distinct(drawn: Sequence[Drawn]) -> tuple[Drawn, ...]:
    """The pictures under names of which none comes twice."""
    seen: dict[str, int] = {}
    named = []
    for one in drawn:
        seen[one.name] = seen.get(one.name, 0) + 1
        number = seen[one.name]
        named.append(one if number == 1 else Drawn(f"{one.name}-{number}", one.picture))
    return tuple(named)
