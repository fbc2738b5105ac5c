"""The full statistics of one series of readings, in sentences and as a row of a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import ClassVar

from traveler.measure.number import display_number, exact_text
from traveler.result import Result
from traveler.text import plural
from traveler.trace.stats.capability import ENOUGH, Capability, capability
from traveler.trace.stats.comparisons import AdjustmentEffect, adjustment_effect
from traveler.trace.stats.control_chart import IndividualsChart, individuals_chart
from traveler.trace.stats.numbers import percent, short
from traveler.trace.stats.proportion import Proportion, proportion
from traveler.trace.stats.series import CheckSeries
from traveler.trace.stats.summary import Normal, Normality, Summary, normality, summarize
from traveler.trace.stats.tolerance_interval import (
    Side,
    ToleranceInterval,
    distribution_free_interval,
    normal_interval,
)
from traveler.trace.stats.trend import Trend, trend
from traveler.trace.stats.unit_readings import AdjustmentTrial

FEWEST = 10
"""Readings below which no capability index is given: its interval would say nothing (common practice)."""
CHARTED = 200
"""The last so many readings are charted and judged for drift: older ones tell of another time."""


@dataclass(frozen=True)
class SeriesReport(Result):
    """Statistics of one series, in its unit.

    ``capability`` is None below :data:`FEWEST` readings and without limits; ``few`` says so. ``chart`` and
    ``trend`` are of the last :data:`CHARTED` readings. ``tolerance`` holds the normal interval where
    normality is not refuted, and the distribution-free one.
    """

    json_keys: ClassVar[str] = (
        "check=series.check again=series.again position=series.position_named "
        "mark=series.mark operation=series.operation title=series.title unit=series.unit "
        "limits=series.limits revisions=series.revisions variants=series.variants n "
        "first_pass summary capability few normality=normal chart=charted tolerance trend "
        "adjusting worst=worst_reading sentences=told"
    )

    series: CheckSeries
    first_pass: Proportion
    summary: Summary | None
    chart: IndividualsChart
    capability: Capability | None
    normal: Normality
    tolerance: tuple[ToleranceInterval, ...]
    trend: Trend
    adjusting: AdjustmentEffect | None
    trials: str

    @property
    def charted(self) -> dict[str, object]:
        """The chart without its points, which the readings are exported with."""
        told = self.chart.as_dict()
        return {name: value for name, value in told.items() if name not in ("readings", "moving_ranges")}

    @property
    def worst_reading(self) -> dict[str, str] | None:
        """The reading worst off, for JSON."""
        worst = self.series.nearest()
        return None if worst is None else {"unit": worst.unit, "value": exact_text(worst.value)}

    @property
    def told(self) -> list[dict[str, str]]:
        """The sentences, for JSON."""
        return [{"about": about, "text": text} for about, text in self.sentences()]

    @property
    def n(self) -> int:
        """Readings that count."""
        return len(self.series.points)

    @property
    def limited(self) -> bool:
        """Whether the check has limits."""
        return self.series.bounds != (None, None)

    @property
    def few(self) -> str:
        """Why there is no capability index, or empty."""
        if not self.limited:
            return "The check has no limits: there is no capability index."
        if self.n < FEWEST:
            return (
                f"{plural(self.n, 'reading')}: too few for a capability index; at least {FEWEST} are needed."
            )
        return ""

    @property
    def heading_for_limit(self) -> bool:
        """Whether the readings drift toward a limit and are to reach it."""
        return self.trend.projection is not None and self.trend.projection.centre is not None

    def sentences(self) -> tuple[tuple[str, str], ...]:
        """Everything that can be said, as (about what, sentence), in a fixed order."""
        said = [("first time", f"First-pass yield: {self.first_pass.sentence}.")]
        said += [("capability", text) for text in self._capability()]
        if self.capability is None and self.n:
            said.append(("normality", self.normal.sentence))
        said.append(("chart", f"{self._charted()}{self.chart.sentence}"))
        said += [("tolerance interval", bound.sentence) for bound in self.tolerance]
        said.append(("drift", self.trend.sentence))
        if self.adjusting is not None:
            said.append(("adjusting", f"Read more than once, {self.adjusting.sentence}"))
        if self.trials:
            said.append(("adjusting", self.trials))
        return tuple((about, text) for about, text in said if text)

    def _capability(self) -> tuple[str, ...]:
        """The index that matters with its cautions, then all indices; or why there is none."""
        if self.capability is None:
            return (self.few,)
        return *self.capability.sentences, indices_text(self.capability)

    def _charted(self) -> str:
        return f"The last {CHARTED} of {self.n} readings. " if self.n > CHARTED else ""

    def worst(self) -> str:
        """The reading worst off and its unit: ``0.049 mm, BW4-…``; empty without limits."""
        point = self.series.nearest()
        return "" if point is None else f"{self.text(point.value)} {point.unit}"

    def text(self, value: Fraction) -> str:
        """A value as written in this series."""
        limits = self.series.limits
        return (
            limits.number(value)
            if limits is not None and not self.series.worked
            else display_number(value, 3)
        )


def indices_text(found: Capability) -> str:
    """Every index with its interval and the spread it is taken from."""
    kinds = (("Pp", "Ppk", "all variation"), ("Cp", "Cpk", "variation within, from moving ranges"))
    told = []
    for indices, (width, nearest, words) in zip((found.overall, found.within), kinds, strict=True):
        if indices is not None:
            named = [(width, indices.width), (nearest, indices.nearest)]
            text = ", ".join(
                f"{name} {short(index.value)} ({short(index.low)} to {short(index.high)})"
                for name, index in named
                if index is not None
            )
            told.append(f"{text} from s = {short(indices.sigma)}, {words}")
    return f"{'; '.join(told)}." if told else ""


def series_report(series: CheckSeries) -> SeriesReport:
    """Everything that can be said of the series."""
    values, lower, upper = series.values, series.lower, series.upper
    charted = values[-CHARTED:]
    judged = len(values) >= FEWEST and series.bounds != (None, None)
    nominal = series.limits.nominal if series.limits is not None and None not in series.bounds else None
    found = capability(values, lower=lower, upper=upper, target=nominal) if judged else None
    normal = normality(values) if found is None else found.normal
    return SeriesReport(
        series,
        first_pass=proportion(sum(look.passed for look in series.firsts), len(series.firsts)),
        summary=summarize(values),
        chart=individuals_chart(charted),
        capability=found,
        normal=normal,
        tolerance=_tolerance(values, _side(series), normal),
        trend=trend(charted, lower=lower, upper=upper),
        adjusting=adjustment_effect(series.pairs, lower=lower, upper=upper) if series.pairs else None,
        trials=_told(series.trials),
    )


def _side(series: CheckSeries) -> Side:
    if series.lower is None and series.upper is not None:
        return "upper"
    return "lower" if series.upper is None and series.lower is not None else "both"


def _tolerance(values: Sequence[Fraction], side: Side, normal: Normality) -> tuple[ToleranceInterval, ...]:
    free = distribution_free_interval(values, side=side)
    if len(values) < FEWEST or normal.judgement is Normal.REFUTED:
        return (free,)
    return normal_interval(values, side=side), free


def _told(trials: Sequence[AdjustmentTrial]) -> str:
    """What adjusting did, by whether the advice was followed: ``as advised 12 times, in afterwards 11``."""
    words = {True: "as advised", False: "not as advised", None: "not said whether as advised"}
    said = []
    for followed, word in words.items():
        these = [trial for trial in trials if trial.followed is followed]
        known = [trial.brought_in for trial in these if trial.brought_in is not None]
        if these:
            after = f"in at the next reading {sum(known)} of {len(known)}" if known else "not read again"
            said.append(f"{word} {plural(len(these), 'time')}, {after}")
    return f"Adjusted {'; '.join(said)}." if said else ""


HEADS = ("op", "check", "position", "limits", "n", "first time", "Ppk", "drift", "worst reading")
"""What the columns of :func:`series_cells` say."""


def series_cells(report: SeriesReport) -> tuple[str, ...]:
    """One series as cells of a table, in the order of :data:`HEADS`."""
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
        index_text(report),
        drift_text(report),
        report.worst(),
    )


def index_text(report: SeriesReport) -> str:
    """Ppk with its interval: ``1.31 (1.06 to 1.56)``; a word where there is none; ``?`` where it is rough."""
    if not report.limited:
        return "no limits"
    if report.capability is None:
        return "too few"
    if report.capability.overall is None:
        return "all equal"
    found = report.capability.overall.nearest
    rough = "?" if report.n < ENOUGH else ""
    return f"{short(found.value)}{rough} ({short(found.low)} to {short(found.high)})"


def drift_text(report: SeriesReport) -> str:
    """``up``, ``down``, ``steady`` or ``too few``; with ``!`` where it heads for a limit."""
    found = report.trend
    if found.p is None or found.slope is None:
        return "steady" if len(set(report.series.values)) == 1 and report.n > 1 else "too few"
    if not found.drifting:
        return "steady"
    way = "up" if found.slope > 0 else "down"
    return f"{way} !" if report.heading_for_limit else way
