"""One line for each series: what a table on screen and on paper shows of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from traveler.trace.reports.series_report import SeriesReport
from traveler.trace.statistics.capability import ENOUGH
from traveler.trace.statistics.wording import percent, short

HEADS = ("op", "check", "position", "limits", "n", "first time", "Ppk", "drift", "worst reading")
"""What the columns of :func:`row` say."""


@dataclass(frozen=True, slots=True)
class Row:
    """The cells as text, in the order of :data:`HEADS`."""

    cells: tuple[str, ...]


def rows(reports: Iterable[SeriesReport]) -> tuple[Row, ...]:
    """A row for each series, in the order given."""
    return tuple(Row(cells(one)) for one in reports)


def cells(report: SeriesReport) -> tuple[str, ...]:
    """The cells of one series."""
    series = report.series
    share = report.first_pass.share
    position = " ".join(part for part in (series.place, series.mark) if part)
    return (
        series.operation,
        series.name,
        position,
        series.limits_text,
        str(report.n),
        "" if share is None else percent(share),
        index(report),
        drift(report),
        report.worst(),
    )


def index(report: SeriesReport) -> str:
    """Ppk with its interval: ``1.31 (1.06 to 1.56)``; a word where there is none; ``?`` where it is rough."""
    if series_has_no_limits(report):
        return "no limits"
    if report.capability is None:
        return "too few"
    if report.capability.overall is None:
        return "all equal"
    found = report.capability.overall.nearest
    rough = "?" if report.n < ENOUGH else ""
    return f"{short(found.value)}{rough} ({short(found.low)} to {short(found.high)})"


def series_has_no_limits(report: SeriesReport) -> bool:
    """Whether there is nothing to be capable of."""
    return report.series.bounds == (None, None)


def drift(report: SeriesReport) -> str:
    """``up``, ``down``, ``steady`` or ``too few``; with ``!`` where it heads for a limit."""
    found = report.trend
    if found.p is None or found.slope is None:
        return "steady" if len(set(report.series.values)) == 1 and report.n > 1 else "too few"
    if not found.drifting:
        return "steady"
    way = "up" if found.slope > 0 else "down"
    return f"{way} !" if report.heading_for_limit else way
