"""The whole picture of one series of readings: chart, capability, tolerance interval, drift, adjusting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from traveler.measure.number import exact_text, shown
from traveler.trace.series.series import Series
from traveler.trace.series.slot_life import Trial
from traveler.trace.statistics.adjusting import Adjusting, adjusting
from traveler.trace.statistics.capability import Capability, capability
from traveler.trace.statistics.individuals import IndividualsChart, individuals_chart
from traveler.trace.statistics.normality import Normal, Normality, normality
from traveler.trace.statistics.proportion import Proportion, proportion
from traveler.trace.statistics.summary import Summary, summarize
from traveler.trace.statistics.tolerance_interval import (
    Side,
    ToleranceInterval,
    distribution_free_interval,
    normal_interval,
)
from traveler.trace.statistics.trend import Trend, trend
from traveler.trace.statistics.wording import counted, short

FEWEST = 10
"""Readings below which no capability index is given: its interval would say nothing (common practice)."""
CHARTED = 200
"""The last so many readings are charted and judged for drift: older ones tell of another time."""


@dataclass(frozen=True)
class SeriesReport:
    """Statistics of one series, in its unit.

    ``capability`` is None below :data:`FEWEST` readings and without limits; ``few`` says so. ``chart`` and
    ``trend`` are of the last :data:`CHARTED` readings. ``tolerance`` holds the normal interval where
    normality is not refuted, and the distribution-free one.
    """

    series: Series
    first_pass: Proportion
    summary: Summary | None
    chart: IndividualsChart
    capability: Capability | None
    normal: Normality
    tolerance: tuple[ToleranceInterval, ...]
    trend: Trend
    adjusting: Adjusting | None
    trials: str

    @property
    def n(self) -> int:
        """Readings that count."""
        return len(self.series.points)

    @property
    def few(self) -> str:
        """Why there is no capability index, or empty."""
        if self.series.bounds == (None, None):
            return "The check has no limits: nothing to be capable of."
        if self.n < FEWEST:
            return (
                f"{counted(self.n, 'reading')}: too few for a capability index; at least {FEWEST} are needed."
            )
        return ""

    @property
    def heading_for_limit(self) -> bool:
        """Whether the readings drift toward a limit and are to reach it."""
        return self.trend.projection is not None and self.trend.projection.centre is not None

    def sentences(self) -> tuple[tuple[str, str], ...]:
        """Everything that can be said, as (about what, sentence), in a fixed order."""
        said = [("first time", f"Right the first time: {self.first_pass.sentence}.")]
        said += [("capability", text) for text in self._capability()]
        if self.capability is None and self.n:
            said.append(("normality", self.normal.sentence))
        said.append(("chart", f"{self._charted()}{self.chart.sentence}"))
        said += [("tolerance interval", one.sentence) for one in self.tolerance]
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
        return limits.number(value) if limits is not None and not self.series.worked else shown(value, 3)

    def as_dict(self) -> dict[str, object]:
        """For ``--json``: numbers as text."""
        one, worst = self.series, self.series.nearest()
        return {
            "check": one.check,
            "again": one.again,
            "position": dict(one.position),
            "mark": one.mark,
            "operation": one.operation,
            "title": one.title,
            "unit": one.unit,
            "limits": None if one.limits is None else one.limits.as_dict(),
            "revisions": sorted(one.revisions),
            "variants": sorted(one.variants),
            "n": self.n,
            "first_pass": self.first_pass.as_dict(),
            "summary": None if self.summary is None else self.summary.as_dict(),
            "capability": None if self.capability is None else self.capability.as_dict(),
            "few": self.few,
            "normality": self.normal.as_dict(),
            "chart": _chart(self.chart),
            "tolerance": [interval.as_dict() for interval in self.tolerance],
            "trend": self.trend.as_dict(),
            "adjusting": None if self.adjusting is None else self.adjusting.as_dict(),
            "worst": None if worst is None else {"unit": worst.unit, "value": exact_text(worst.value)},
            "sentences": [{"about": about, "text": text} for about, text in self.sentences()],
        }


def indices_text(found: Capability) -> str:
    """Every index with its interval and the spread it is taken from."""
    kinds = (("Pp", "Ppk", "all variation"), ("Cp", "Cpk", "variation within, from moving ranges"))
    told = []
    for indices, (width, nearest, words) in zip((found.overall, found.within), kinds, strict=True):
        if indices is not None:
            named = [(width, indices.width), (nearest, indices.nearest)]
            text = ", ".join(
                f"{name} {short(one.value)} ({short(one.low)} to {short(one.high)})"
                for name, one in named
                if one is not None
            )
            told.append(f"{text} from s = {short(indices.sigma)}, {words}")
    return f"{'; '.join(told)}." if told else ""


def _chart(chart: IndividualsChart) -> dict[str, object]:
    """The chart without its points, which the readings are exported with."""
    told = chart.as_dict()
    return {name: value for name, value in told.items() if name not in ("readings", "moving_ranges")}


def series_report(series: Series) -> SeriesReport:
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
        adjusting=adjusting(series.pairs, lower=lower, upper=upper) if series.pairs else None,
        trials=_told(series.trials),
    )


def _side(series: Series) -> Side:
    if series.lower is None and series.upper is not None:
        return "upper"
    return "lower" if series.upper is None and series.lower is not None else "both"


def _tolerance(values: Sequence[Fraction], side: Side, normal: Normality) -> tuple[ToleranceInterval, ...]:
    free = distribution_free_interval(values, side=side)
    if len(values) < FEWEST or normal.judgement is Normal.REFUTED:
        return (free,)
    return normal_interval(values, side=side), free


def _told(trials: Sequence[Trial]) -> str:
    """What adjusting did, by whether the advice was followed: ``as advised 12 times, in afterwards 11``."""
    words = {True: "as advised", False: "not as advised", None: "not said whether as advised"}
    said = []
    for followed, word in words.items():
        these = [one for one in trials if one.followed is followed]
        known = [one.brought_in for one in these if one.brought_in is not None]
        if these:
            after = f"in at the next reading {sum(known)} of {len(known)}" if known else "not read again"
            said.append(f"{word} {counted(len(these), 'time')}, {after}")
    return f"Adjusted {'; '.join(said)}." if said else ""
