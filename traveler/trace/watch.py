"""What needs attention this week, most urgent first: each thing one notice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from itertools import groupby
from typing import ClassVar

from traveler.measure.number import parse_number
from traveler.record.entry import Decided, standing_entries
from traveler.record.plans import Plans
from traveler.record.records import Records
from traveler.result import Result
from traveler.shop.gauges import GaugeState
from traveler.shop.session import Session
from traveler.text import plural
from traveler.trace.cases import CaseState, contained_under, list_cases
from traveler.trace.floor import AGEING, LATE, TURNING, in_state_since, stops_of_shop
from traveler.trace.judging import fitted_parts
from traveler.trace.queries import (
    UnitFilter,
    entries_of,
    entries_since,
    newest_units,
    products,
    waiting_units,
)
from traveler.trace.stats.capability import ENOUGH, Index, indices
from traveler.trace.stats.contingency import benjamini_hochberg
from traveler.trace.stats.numbers import short
from traveler.trace.stats.product_report import weigher_of
from traveler.trace.stats.series import CheckSeries, Collector, Narrowed
from traveler.trace.stats.series_report import CHARTED, FEWEST
from traveler.trace.stats.summary import summarize
from traveler.trace.stats.trend import ALPHA, trend
from traveler.trace.stats.unit_readings import STATISTICS_KINDS, unit_readings
from traveler.trace.where_used import by_unit, gauges_due


class Urgency(StrEnum):
    """How pressing: ``act`` today, ``look`` this week, ``know``."""

    ACT = "act"
    LOOK = "look"
    KNOW = "know"


LEVELS = tuple(Urgency)

SUBJECTS = (
    "gauge", "stop", "complaint", "drift", "capability", "repeated", "concession", "waiting",
)  # fmt: skip
"""What notices are about, in the order in which they are listed within a level."""


@dataclass(frozen=True, slots=True)
class Notice(Result):
    """``urgency`` orders notices of one level and subject: the larger, the earlier."""

    json_keys: ClassVar[str] = "level subject what look"

    level: Urgency
    subject: str
    what: str
    look: str
    urgency: float = 0.0


MOST = 8
"""Notices of one level and subject that are listed before it is only said how many more there are."""

HEADINGS = {Urgency.ACT: "To act on", Urgency.LOOK: "To look into", Urgency.KNOW: "To know"}


@dataclass(frozen=True, slots=True)
class Group:
    """Notices of one level and subject: the first few, and how many more there are."""

    level: Urgency
    subject: str
    notices: tuple[Notice, ...]
    more: int


def grouped(notices: Iterable[Notice]) -> tuple[Group, ...]:
    """The notices, which are in order, by level and subject."""
    groups = []
    for (level, subject), same in groupby(notices, key=lambda notice: (notice.level, notice.subject)):
        found = tuple(same)
        groups.append(Group(level, subject, found[:MOST], max(0, len(found) - MOST)))
    return tuple(groups)


def by_urgency(notices: Iterable[Notice]) -> tuple[Notice, ...]:
    """The notices in the order in which they matter."""

    def key(notice: Notice) -> tuple[int, int, float, str]:
        return LEVELS.index(notice.level), SUBJECTS.index(notice.subject), -notice.urgency, notice.what

    return tuple(sorted(notices, key=key))


SOON = 20
"""Units within which single ones begin to fail: then a drift asks for something to be done today."""
REPEATED = 3
"""So many units with the same trouble within the window are listed."""


def from_readings(product: str, collected: Collector, since: datetime, minimum: Fraction) -> Iterator[Notice]:
    """Notices about one product; a check that was not read since then is left alone."""
    read = [series for series in collected.series() if any(point.at >= since for point in series.points)]
    yield from _drifts(product, read)
    for series in read:
        yield from _capability(product, series, minimum)
    yield from _repeated(product, collected, since)


def stats_command(product: str, series: CheckSeries) -> str:
    """The command that shows the whole picture of a series."""
    place = "".join(f" --position {name}={value}" for name, value in series.position)
    check = f'"{series.check}"' if " " in series.check else series.check
    return f"traveler readings statistics {product} {check}{place}"


def _drifts(product: str, read: Sequence[CheckSeries]) -> Iterator[Notice]:
    """Drifts that reach a limit; of those told, no more than one in twenty is one by chance."""
    found = [trend(series.values[-CHARTED:], lower=series.lower, upper=series.upper) for series in read]
    sure = benjamini_hochberg([Decimal(1) if drift.p is None else drift.p for drift in found])
    for series, drift, p in zip(read, found, sure, strict=True):
        ahead = drift.projection
        if p >= ALPHA or ahead is None or ahead.centre is None:
            continue
        failing = ahead.readings
        level = Urgency.ACT if failing is not None and failing <= SOON else Urgency.LOOK
        text = f"{product} {series.label} ({series.limits_text}): {_small(drift.sentence)}"
        yield Notice(level, "drift", text, stats_command(product, series), -float(ahead.centre))


def _small(sentence: str) -> str:
    """The sentence as the rest of one: without its capital and its full stop."""
    return f"{sentence[0].lower()}{sentence[1:]}".rstrip(".")


def _capability(product: str, series: CheckSeries, minimum: Fraction) -> Iterator[Notice]:
    summary = summarize(series.values)
    if series.bounds == (None, None) or summary is None or summary.n < FEWEST or not summary.sd:
        return
    index = indices(summary.mean, summary.sd, lower=series.lower, upper=series.upper, n=summary.n).nearest
    if index.value >= minimum:
        return
    text = f"{product} {series.label}: {_judged(index, minimum, len(series.points))}"
    yield Notice(Urgency.LOOK, "capability", text, stats_command(product, series), -float(index.value))


def _judged(index: Index, minimum: Fraction, n: int) -> str:
    sure = "is below" if index.high < minimum else "may be below"
    rough = "; too few for more than a first estimate" if n < ENOUGH else ""
    return (
        f"Ppk {short(index.value)} ({short(index.low)} to {short(index.high)}) "
        f"from {plural(n, 'reading')} {sure} the shop's minimum {short(minimum)}{rough}"
    )


def _repeated(product: str, collected: Collector, since: datetime) -> Iterator[Notice]:
    units: dict[str, set[str]] = {}
    checks: dict[str, str] = {}
    for trouble in collected.troubles:
        if trouble.at >= since and trouble.kind != "complained about":
            units.setdefault(trouble.name, set()).add(trouble.unit)
            checks[trouble.name] = trouble.check
    for name, serials in units.items():
        if len(serials) >= REPEATED:
            text = f"{product} {name}, on {plural(len(serials), 'unit')}: {', '.join(sorted(serials)[:6])}"
            more = " …" if len(serials) > 6 else ""
            check = f' "{checks[name]}"' if " " in checks[name] else f" {checks[name]}".rstrip()
            yield Notice(
                Urgency.LOOK,
                "repeated",
                text + more,
                f"traveler readings statistics {product}{check}",
                len(serials),
            )


NEWEST = 150
"""Units of each product that were issued last, from which drift and capability are judged."""


@dataclass(frozen=True, slots=True)
class Watched(Result):
    """The notices from ``since`` on, in the order in which they matter."""

    json_keys: ClassVar[str] = "since notices"

    since: datetime
    notices: tuple[Notice, ...]

    @property
    def pressing(self) -> bool:
        """Whether something is to be done today."""
        return any(notice.level is Urgency.ACT for notice in self.notices)


def watch(session: Session, moment: datetime) -> Watched:
    """Looks at gauges, stops, cases, readings and waiting units; ``moment`` is where the week begins.

    Raises:
        StoreDamaged: an entry or definition cannot be read.
    """
    with session.store.reading() as records:
        notices = [
            *_gauges(session),
            *_stops(session, records),
            *_cases(session, records),
            *_readings(session, records, moment),
            *_concessions(records, moment),
            *_waiting(session, records),
        ]
    return Watched(moment, by_urgency(notices))


def _gauges(session: Session) -> Iterator[Notice]:
    for gauge in gauges_due(session, session.shop.settings.gauge_due_days):
        name = f"{gauge.gauge.id} ({gauge.gauge.title})" if gauge.gauge.title else gauge.gauge.id
        soon = gauge.standing is GaugeState.SOON
        means = f", {plural(gauge.days or 0, 'day')} left" if soon else ": readings with it are refused"
        text = f"{name} {gauge.gauge.standing_text(session.today)}{means}"
        level = Urgency.LOOK if soon else Urgency.ACT
        yield Notice(level, "gauge", text, "traveler gauge due", -float(gauge.days or 0))


def _stops(session: Session, records: Records) -> Iterator[Notice]:
    longest = _days(session, "stopped")
    for stop in stops_of_shop(records):
        age = _age(session, stop.stop.entry.at)
        where = f"at {stop.stop.slot}" if stop.stop.slot is not None else "as a whole"
        text = f"{stop.unit.serial} has been stopped {where} for {plural(age, 'day')}: {stop.stop.what}"
        level = Urgency.ACT if age >= longest else Urgency.LOOK
        yield Notice(level, "stop", text, f"traveler trace {stop.unit.serial}", age)


def _cases(session: Session, records: Records) -> Iterator[Notice]:
    every = list_cases(session, records)
    known = [listed.case for listed in every]
    fresh = [case.opened.unit for case in known if case.state is CaseState.OPEN]
    fitted = by_unit(records.entries_of_kinds(fresh, ("fitted", "struck")))
    for listed in every:
        case = listed.case
        if case.closed:
            continue
        level, waits = Urgency.LOOK, str(case.state)
        if case.state is CaseState.OPEN:
            lots = {body.value for _, body in fitted_parts(fitted.get(case.opened.unit, ()), "lot")}
            under = contained_under(case, lots, known)
            waits = f"contained under {under.name}" if under is not None else "not contained yet"
            level = Urgency.LOOK if under is not None else Urgency.ACT
        level = Urgency.ACT if listed.overdue else level
        late = f", its effect was due to be checked by {case.due}" if listed.overdue else ""
        text = f"{case.name}, {plural(listed.age, 'day')} old, {waits}{late}: {case.complaint.text}"
        yield Notice(level, "complaint", text, f"traveler case show {case.name}", listed.age)


def _readings(session: Session, records: Records, moment: datetime) -> Iterator[Notice]:
    weigher, plans = weigher_of(session), Plans(records)
    minimum = parse_number(session.shop.settings.minimum_ppk).value
    for product in products(records):
        collector = Collector(Narrowed())
        units = newest_units(records, UnitFilter(product), NEWEST)
        for unit, entries in entries_of(records, units, kinds=STATISTICS_KINDS):
            collector.add(unit_readings(unit, plans.plan(unit, entries), entries, weigher))
        yield from from_readings(product, collector, moment, minimum)


def _concessions(records: Records, moment: datetime) -> Iterator[Notice]:
    """Decisions by which a unit will not be as specified, those that were not withdrawn."""
    decided = entries_since(records, ("decided",), moment)
    granted = [
        (entry, entry.body) for entry in decided if isinstance(entry.body, Decided) and _granted(entry.body)
    ]
    serials = sorted({entry.unit for entry, _ in granted})
    by_unit = groupby(records.entries_of_kinds(serials, ("decided", "struck")), key=lambda entry: entry.unit)
    stand = {(serial, entry.seq) for serial, own in by_unit for entry in standing_entries(tuple(own))}
    for entry, body in granted:
        if (entry.unit, entry.seq) in stand:
            word = "used as it is" if body.decision == "use_as_is" else body.decision.replace("_", " ")
            where = f" at {entry.slot}" if entry.slot else ""
            number = body.concession or "without a number"
            text = f"{entry.unit}{where} is decided on: {word}, concession {number}"
            told = f"{text}: {body.text}" if body.text else text
            yield Notice(Urgency.KNOW, "concession", told, f"traveler trace {entry.unit}")


def _granted(body: Decided) -> bool:
    return body.decision == "use_as_is" or bool(body.concession)


def _waiting(session: Session, records: Records) -> Iterator[Notice]:
    """Units in a state for too long; those that are stopped are listed by :func:`_stops`."""
    states = [state for state in AGEING if state != "stopped"]
    shortest = min(_days(session, state) for state in states)
    units = waiting_units(records, states, session.now - timedelta(days=shortest))
    old = [unit for unit in units if _age(session, unit.issued) >= _days(session, unit.state)]
    late = [unit for unit in old if unit.state in LATE]
    working = [unit for unit in old if unit.state not in LATE]
    plans = Plans(records)
    for some, kinds in ((late, TURNING), (working, None)):
        for unit, entries in entries_of(records, some, kinds=kinds):
            age = _age(session, in_state_since(entries, plans.plan(unit, entries)))
            if age >= _days(session, unit.state):
                text = f"{unit.serial} {unit.product} has been in '{unit.state}' for {plural(age, 'day')}"
                text += f", order {unit.order}" if unit.order else ""
                level = Urgency.LOOK if unit.order or unit not in late else Urgency.KNOW
                yield Notice(level, "waiting", text, f"traveler validate {unit.serial}", age)


def _days(session: Session, state: str) -> int:
    """Days in a state after which a unit is listed."""
    told: dict[str, int] = dict(session.shop.settings.ageing_days)  # type: ignore[arg-type]
    return told.get(state, AGEING[state])


def _age(session: Session, moment: datetime) -> int:
    """Calendar days since then, in the shop's zone."""
    return (session.today - session.day(moment)).days
