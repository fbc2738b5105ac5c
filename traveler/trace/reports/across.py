"""Whether gauges, people or positions read one check differently, each compared within its own series.

Readings of several positions or limits are made alike before they are compared: each is taken as its
distance from the median of its own series. So a gauge that only ever got the far ends does not look wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from traveler.trace.series.series import Point, Series
from traveler.trace.statistics.groups import GroupComparison, compare_groups
from traveler.trace.statistics.many_comparisons import holm
from traveler.trace.statistics.result import Result
from traveler.trace.statistics.summary import summarize
from traveler.trace.statistics.trend import ALPHA, Trend, trend

FEWEST_BY_GAUGE = 20
"""Readings of one gauge below which its own drift is not looked for."""


@dataclass(frozen=True)
class Across(Result):
    """One check over all its series. ``positions`` is None where it is read at one place.

    ``drifting`` holds, for each gauge with enough readings that moves more than chance would (corrected for
    the number of gauges by Holm), its trend: of distances from the median of the series, in the check's unit.
    """

    check: str
    unit: str
    gauges: GroupComparison
    people: GroupComparison
    positions: GroupComparison | None
    drifting: tuple[tuple[str, Trend], ...]

    def sentences(self) -> tuple[tuple[str, str], ...]:
        """As (about what, sentence)."""
        said = [("gauges", self.gauges.sentence), ("people", self.people.sentence)]
        if self.positions is not None:
            said.append(("positions", self.positions.sentence))
        said += [("gauges", f"With {name} alone: {found.sentence}") for name, found in self.drifting]
        return tuple(said)


def across(check: str, series: Sequence[Series]) -> Across:
    """Compare who read it, with what, and where; all series of one check in one unit."""
    apart = [(point, moved) for one in series for point, moved in _apart(one)]
    in_time = sorted(apart, key=lambda pair: (pair[0].at, pair[0].unit, pair[0].seq))
    by_gauge = _grouped(in_time, lambda point: point.gauge)
    places = {one.place or "one place": one.values for one in series if one.limits == series[0].limits}
    drifts = [(name, trend(moved)) for name, moved in by_gauge.items() if len(moved) >= FEWEST_BY_GAUGE]
    sure = holm([found.p if found.p is not None else Decimal(1) for _, found in drifts])
    return Across(
        check, series[0].unit if series else "",
        gauges=compare_groups(by_gauge, "gauge"),
        people=compare_groups(_grouped(in_time, lambda point: point.by), "person"),
        positions=compare_groups(places, "position") if len(places) > 1 else None,
        drifting=tuple(pair for pair, p in zip(drifts, sure, strict=True) if p < ALPHA),
    )  # fmt: skip


def _apart(series: Series) -> Iterable[tuple[Point, Fraction]]:
    summary = summarize(series.values)
    middle = summary.median if summary is not None else Fraction()
    return ((point, point.value - middle) for point in series.points)


def _grouped(
    apart: Sequence[tuple[Point, Fraction]], name: Callable[[Point], str | None]
) -> dict[str, list[Fraction]]:
    groups: dict[str, list[Fraction]] = {}
    for point, moved in apart:
        if (called := name(point)) is not None:
            groups.setdefault(called, []).append(moved)
    return groups
