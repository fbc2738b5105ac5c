"""Statistics of a product or of one check of it: series, yields, and what goes wrong most often."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from traveler.definition.plan import SlotKind
from traveler.finding import CannotDo, Weight
from traveler.record.entry import Entry
from traveler.record.plans import Plans
from traveler.record.records import Records, Unit
from traveler.result import Result
from traveler.shop.session import Session
from traveler.text import did_you_mean
from traveler.trace.judging import judge
from traveler.trace.queries import (
    PIECE,
    Progress,
    UnitFilter,
    count_issued,
    entries_of,
    newest_units,
    no_progress,
    unit_batches,
)
from traveler.trace.stats.comparisons import GroupComparison, compare_groups
from traveler.trace.stats.contingency import holm
from traveler.trace.stats.proportion import Pareto, Yields, pareto, yields
from traveler.trace.stats.series import CheckSeries, Collector, Narrowed, Point
from traveler.trace.stats.series_report import SeriesReport, series_report
from traveler.trace.stats.summary import summarize
from traveler.trace.stats.trend import ALPHA, Trend, trend
from traveler.trace.stats.unit_readings import STATISTICS_KINDS, check_named, unit_readings
from traveler.verdict.codes import CODES
from traveler.verdict.rows import Weigher

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


def compare_across(check: str, series: Sequence[CheckSeries]) -> Across:
    """Compare who read it, with what, and where; all series of one check in one unit."""
    apart = [(point, moved) for check_series in series for point, moved in _apart(check_series)]
    in_time = sorted(apart, key=lambda pair: (pair[0].at, pair[0].unit, pair[0].seq))
    by_gauge = _grouped(in_time, lambda point: point.gauge)
    places = {
        check_series.place or "one place": check_series.values
        for check_series in series
        if check_series.limits == series[0].limits
    }
    drifts = [(name, trend(moved)) for name, moved in by_gauge.items() if len(moved) >= FEWEST_BY_GAUGE]
    sure = holm([found.p if found.p is not None else Decimal(1) for _, found in drifts])
    return Across(
        check, series[0].unit if series else "",
        gauges=compare_groups(by_gauge, "gauge"),
        people=compare_groups(_grouped(in_time, lambda point: point.by), "person"),
        positions=compare_groups(places, "position") if len(places) > 1 else None,
        drifting=tuple(pair for pair, p in zip(drifts, sure, strict=True) if p < ALPHA),
    )  # fmt: skip


def _apart(series: CheckSeries) -> Iterable[tuple[Point, Fraction]]:
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


@dataclass(frozen=True)
class ProductReport(Result):
    """What the numbers say. ``across`` has one entry for each check where a single check was asked for.

    ``units`` were looked at, whether or not they have readings. ``findings`` counts the standing findings of
    the verdict by code and title, where that was asked for.
    """

    json_keys: ClassVar[str] = (
        "product check=narrowed.check since=narrowed.since until=narrowed.until units series "
        "across yields troubles finding_counts=findings notes"
    )

    product: str
    narrowed: Narrowed
    units: int
    series: tuple[SeriesReport, ...]
    yields: Yields
    troubles: Pareto
    across: tuple[Across, ...] = ()
    findings: Pareto | None = None
    notes: tuple[str, ...] = field(default=())


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
        tuple(series_report(check_series) for check_series in series),
        yields(collected.tries()),
        pareto(trouble.name for trouble in collected.troubles),
        across=_across(series) if asked is not None else (),
        findings=None if findings is None else pareto(findings),
        notes=(*notes, *_notes(series)),
    )


def _across(series: tuple[CheckSeries, ...]) -> tuple[Across, ...]:
    """Each check with its first looks and repeats apart: the inspector's repeat is another series."""
    groups: dict[tuple[str, str], list[CheckSeries]] = {}
    for check_series in series:
        groups.setdefault((check_series.name, check_series.unit), []).append(check_series)
    return tuple(compare_across(name, group) for (name, _), group in groups.items())


def _notes(series: tuple[CheckSeries, ...]) -> Iterable[str]:
    """That limits differ, once for each check: such readings stand in lines of their own."""
    told: dict[str, list[str]] = {}
    for check_series in series:
        if check_series.mark:
            told.setdefault(check_series.name, []).append(f"{check_series.limits_text} {check_series.mark}")
    for name, limits in told.items():
        apart = "; ".join(dict.fromkeys(limits))
        yield f"{name} had different limits; each is listed separately: {apart}"


CHECKED = frozenset({SlotKind.READING, SlotKind.WORKED, SlotKind.CONFIRM})
"""Kinds of slots that statistics know."""


LAST = 1000
"""Units of a product looked at where no window is given: older ones tell of another time."""


@dataclass(frozen=True, slots=True)
class StatisticsRequest:
    """What is asked: a product, perhaps one check of it, at some positions, in a window of time.

    ``last``: without a window, so many of the units issued last; 0: all of them. ``findings``: judge every
    unit as well and count what stands against it.
    """

    product: str
    check: str | None = None
    variant: str | None = None
    revision: str | None = None
    position: Mapping[str, str] = field(default_factory=dict)
    since: datetime | None = None
    until: datetime | None = None
    last: int = LAST
    findings: bool = False

    @property
    def wanted(self) -> UnitFilter:
        """The units meant."""
        return UnitFilter(self.product, self.variant, self.revision)


def statistics(session: Session, asked: StatisticsRequest, progress: Progress = no_progress) -> ProductReport:
    """Reads the units and works everything out.

    ``progress`` is handed the units as they are read and their number, for a progress bar.

    Raises:
        CannotDo: no unit of this product was ever issued, no such check, position, variant or revision.
        StoreDamaged: a unit's record or definition cannot be read.
    """
    narrowed = Narrowed(asked.since, asked.until, asked.check, asked.position)
    collector = Collector(narrowed)
    with session.store.reading() as records:
        total = count_issued(records, asked.wanted)
        plans = Plans(records)
        slots = _slots(plans, asked)
        weigher = weigher_of(session)
        findings: list[str] = []
        looked = total if _whole(asked, total) else asked.last
        for unit, entries in progress(_entries(records, asked, slots, total), looked):
            collector.add(unit_readings(unit, plans.plan(unit, entries), entries, weigher))
            if asked.findings:
                findings += _findings(session, records, unit.serial)
    note = () if looked == total else (f"Of {total} units the {looked} issued last were looked at",)
    counted = findings if asked.findings else None
    return product_report(asked.product, collector, findings=counted, notes=note)


def _whole(asked: StatisticsRequest, total: int) -> bool:
    """Whether all units meant are looked at."""
    return asked.since is not None or asked.until is not None or not 0 < asked.last < total


def _entries(
    records: Records, asked: StatisticsRequest, slots: Collection[str] | None, total: int
) -> Iterator[tuple[Unit, tuple[Entry, ...]]]:
    besides = set(STATISTICS_KINDS) - {"read", "adjusted", "confirmed"}
    if _whole(asked, total):
        wanted: Iterable[Sequence[Unit]] = unit_batches(records, asked.wanted, since=asked.since)
    else:
        units = newest_units(records, asked.wanted, asked.last)
        wanted = (units[at : at + PIECE] for at in range(0, len(units), PIECE))
    for piece in wanted:
        yield from entries_of(records, piece, kinds=STATISTICS_KINDS, slots=slots, besides=besides)


def weigher_of(session: Session) -> Weigher:
    """How this shop weighs readings."""
    return Weigher(session.shop.settings, session.shop.gauges, session.shop.zone)


def _slots(plans: Plans, asked: StatisticsRequest) -> tuple[str, ...] | None:
    """The slots of the check in every revision and variant, with those it is worked out from; None: all.

    Raises:
        CannotDo: no revision has this check, or it is read at no such position.
    """
    if asked.check is None and not asked.position:
        return None
    known: dict[str, set[tuple[str, str]]] = {}
    slots: list[str] = []
    lots = False
    for plan in plans.of_product(asked.product):
        lots = lots or plan.track == "lot"
        for step in plan.steps():
            for slot in step.slots:
                name, _ = check_named(plan, step, slot)
                if slot.kind in CHECKED:
                    known.setdefault(name, set()).update(slot.position)
                    slots += [slot.id, *slot.inputs] if name == asked.check else []
    _refuse_unknown(asked, known)
    return None if lots or asked.check is None else tuple(dict.fromkeys(slots))


def _refuse_unknown(asked: StatisticsRequest, known: Mapping[str, set[tuple[str, str]]]) -> None:
    if asked.check is not None and asked.check not in known:
        what = f"{asked.product} has no check '{asked.check}'"
        raise CannotDo(what, did_you_mean(asked.check, known))
    places = known[asked.check] if asked.check is not None else set().union(*known.values())
    for name, value in asked.position.items():
        if (name, value) not in places:
            values = ", ".join(f"{text}={its}" for text, its in sorted(places)) or "none"
            what = f"{asked.check or asked.product} has no position {name}={value}"
            raise CannotDo(what, f"positions are {values}")


def _findings(session: Session, records: Records, serial: str) -> Iterator[str]:
    """What stands against a unit now, by name: ``REA001 reading outside limits``; notes left out."""
    for finding in judge(session, records, serial).verdict.findings:
        if finding.weight is not Weight.NOTE:
            title = CODES[finding.code].title if finding.code in CODES else finding.what
            yield f"{finding.code} {title}"
