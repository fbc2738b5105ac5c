"""Notices from readings: drift toward a limit, capability below the minimum, repeated troubles."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from traveler.trace.reports.series_report import CHARTED, FEWEST
from traveler.trace.series.collect import Collector
from traveler.trace.series.series import Series
from traveler.trace.statistics.capability import ENOUGH, Index, indices
from traveler.trace.statistics.many_comparisons import benjamini_hochberg
from traveler.trace.statistics.summary import summarize
from traveler.trace.statistics.trend import ALPHA, trend
from traveler.trace.statistics.wording import counted, short
from traveler.trace.watching.notice import Level, Notice

SOON = 20
"""Units within which single ones begin to fail: then a drift asks for something to be done today."""
REPEATED = 3
"""So many units with the same trouble within the window are told."""


def from_readings(product: str, collected: Collector, since: datetime, minimum: Fraction) -> Iterator[Notice]:
    """Notices about one product; a check that was not read since then is left alone."""
    read = [one for one in collected.series() if any(point.at >= since for point in one.points)]
    yield from _drifts(product, read)
    for series in read:
        yield from _capability(product, series, minimum)
    yield from _repeated(product, collected, since)


def stats_command(product: str, series: Series) -> str:
    """The command that shows the whole picture of a series."""
    place = "".join(f" --position {name}={value}" for name, value in series.position)
    check = f'"{series.check}"' if " " in series.check else series.check
    return f"traveler stats {product} {check}{place}"


def _drifts(product: str, read: Sequence[Series]) -> Iterator[Notice]:
    """Drifts that reach a limit; of those told, no more than one in twenty is one by chance."""
    found = [trend(one.values[-CHARTED:], lower=one.lower, upper=one.upper) for one in read]
    sure = benjamini_hochberg([one.p if one.p is not None else Decimal(1) for one in found])
    for series, drift, p in zip(read, found, sure, strict=True):
        ahead = drift.projection
        if p >= ALPHA or ahead is None or ahead.centre is None:
            continue
        failing = ahead.readings
        level = Level.ACT if failing is not None and failing <= SOON else Level.LOOK
        text = f"{product} {series.label} ({series.limits_text}): {_small(drift.sentence)}"
        yield Notice(level, "drift", text, stats_command(product, series), -float(ahead.centre))


def _small(sentence: str) -> str:
    """The sentence as the rest of one: without its capital and its full stop."""
    return f"{sentence[0].lower()}{sentence[1:]}".rstrip(".")


def _capability(product: str, series: Series, minimum: Fraction) -> Iterator[Notice]:
    summary = summarize(series.values)
    if series.bounds == (None, None) or summary is None or summary.n < FEWEST or not summary.sd:
        return
    index = indices(summary.mean, summary.sd, lower=series.lower, upper=series.upper, n=summary.n).nearest
    if index.value >= minimum:
        return
    text = f"{product} {series.label}: Ppk {short(index.value)} {_judged(index, minimum, len(series.points))}"
    yield Notice(Level.LOOK, "capability", text, stats_command(product, series), -float(index.value))


def _judged(index: Index, minimum: Fraction, n: int) -> str:
    sure = "is below" if index.high < minimum else "may be below"
    rough = "; too few for more than a first impression" if n < ENOUGH else ""
    return (
        f"from {counted(n, 'reading')} {sure} the shop's minimum {short(minimum)} "
        f"({short(index.low)} to {short(index.high)}){rough}"
    )


def _repeated(product: str, collected: Collector, since: datetime) -> Iterator[Notice]:
    units: dict[str, set[str]] = {}
    checks: dict[str, str] = {}
    for one in collected.troubles:
        if one.at >= since and one.kind != "complained about":
            units.setdefault(one.name, set()).add(one.unit)
            checks[one.name] = one.check
    for name, serials in units.items():
        if len(serials) >= REPEATED:
            text = f"{product} {name}, on {counted(len(serials), 'unit')}: {', '.join(sorted(serials)[:6])}"
            more = " …" if len(serials) > 6 else ""
            check = f' "{checks[name]}"' if " " in checks[name] else f" {checks[name]}".rstrip()
            yield Notice(
                Level.LOOK, "repeated", text + more, f"traveler stats {product}{check}", len(serials)
            )
