"""A product, or one check of it: every series, the yields, and what goes wrong most often."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from traveler.trace.reports.across import Across, across
from traveler.trace.reports.series_report import SeriesReport, series_report
from traveler.trace.series.collect import Collector, Narrowed
from traveler.trace.series.series import Series
from traveler.trace.statistics.pareto import Pareto, pareto
from traveler.trace.statistics.yields import Yields, yields


@dataclass(frozen=True)
class ProductReport:
    """What the numbers say. ``across`` has one entry for each check where a single check was asked for.

    ``units`` were looked at, whether or not they have readings. ``findings`` counts the standing findings of
    the verdict by code and title, where that was asked for.
    """

    product: str
    narrowed: Narrowed
    units: int
    series: tuple[SeriesReport, ...]
    yields: Yields
    troubles: Pareto
    across: tuple[Across, ...] = ()
    findings: Pareto | None = None
    notes: tuple[str, ...] = field(default=())

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {
            "product": self.product,
            "check": self.narrowed.check,
            "since": self.narrowed.since,
            "until": self.narrowed.until,
            "units": self.units,
            "series": [one.as_dict() for one in self.series],
            "across": [one.as_dict() for one in self.across],
            "yields": self.yields.as_dict(),
            "troubles": self.troubles.as_dict(),
            "finding_counts": None if self.findings is None else self.findings.as_dict(),
            "notes": list(self.notes),
        }


def product_report(
    product: str,
    collected: Collector,
    *,
    findings: Iterable[str] | None = None,
    notes: tuple[str, ...] = (),
) -> ProductReport:
    """The report from what was collected.

    ``findings`` are the names of standing findings, each as often; ``notes`` come before those about limits.
    """
    series = collected.series()
    asked = collected.narrowed.check
    return ProductReport(
        product,
        collected.narrowed,
        collected.units,
        tuple(series_report(one) for one in series),
        yields(collected.tries()),
        pareto(one.name for one in collected.troubles),
        across=_across(series) if asked is not None else (),
        findings=None if findings is None else pareto(findings),
        notes=(*notes, *_notes(series)),
    )


def _across(series: tuple[Series, ...]) -> tuple[Across, ...]:
    """Each check with its first looks and repeats apart: the inspector's repeat is another series."""
    groups: dict[tuple[str, str], list[Series]] = {}
    for one in series:
        groups.setdefault((one.name, one.unit), []).append(one)
    return tuple(across(name, group) for (name, _), group in groups.items())


def _notes(series: tuple[Series, ...]) -> Iterable[str]:
    """That limits differ, once for each check: such readings stand in lines of their own."""
    told: dict[str, list[str]] = {}
    for one in series:
        if one.mark:
            told.setdefault(one.name, []).append(f"{one.limits_text} {one.mark}")
    for name, limits in told.items():
        apart = "; ".join(dict.fromkeys(limits))
        yield f"{name} has not had the same limits everywhere; told apart are {apart}"
