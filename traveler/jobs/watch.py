"""What a director should know this week, most pressing first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from traveler.jobs.gauge_list import gauges_due
from traveler.jobs.list_cases import list_cases
from traveler.jobs.office import Office
from traveler.jobs.plans_of import Plans
from traveler.jobs.statistics import weigher_of
from traveler.measure.number import parse_number
from traveler.record.entry import Decided
from traveler.record.records import Records
from traveler.shop.gauge_standing import Standing
from traveler.trace.asking import Wanted, entries_of, newest, products, since, waiting
from traveler.trace.cases import CaseState
from traveler.trace.series.collect import Collector, Narrowed
from traveler.trace.series.unit_life import KINDS, unit_life
from traveler.trace.statistics.wording import counted
from traveler.trace.stops_of_shop import stops_of_shop
from traveler.trace.watching.notice import Level, Notice, in_order
from traveler.trace.watching.readings import from_readings
from traveler.trace.watching.waiting import AGEING, LATE, TURNING, in_state_since
from traveler.verdict.counting import counting

NEWEST = 150
"""Units of each product that were issued last, from which drift and capability are judged."""


@dataclass(frozen=True, slots=True)
class Watched:
    """The notices from ``since`` on, in the order in which they matter."""

    since: datetime
    notices: tuple[Notice, ...]

    @property
    def pressing(self) -> bool:
        """Whether something is to be done today."""
        return any(one.level is Level.ACT for one in self.notices)

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {"since": self.since.isoformat(), "notices": [one.as_dict() for one in self.notices]}


def watch(office: Office, moment: datetime) -> Watched:
    """Looks at gauges, stops, cases, readings and waiting units; ``moment`` is where the week begins.

    Raises:
        StoreDamaged: an entry or definition cannot be read.
    """
    with office.store.reading() as records:
        notices = [
            *_gauges(office),
            *_stops(office, records),
            *_cases(office, records),
            *_readings(office, records, moment),
            *_concessions(records, moment),
            *_waiting(office, records),
        ]
    return Watched(moment, in_order(notices))


def _gauges(office: Office) -> Iterator[Notice]:
    for one in gauges_due(office, office.shop.settings.gauge_due_days):
        name = f"{one.gauge.id} ({one.gauge.title})" if one.gauge.title else one.gauge.id
        if one.standing is Standing.OVERDUE:
            text = f"{name} is overdue since {one.due}: readings with it are refused"
        elif one.standing is Standing.NOT_CALIBRATED:
            text = f"{name} has no good calibration: readings with it are refused"
        else:
            text = f"{name} is due on {one.due}, in {counted(one.days or 0, 'day')}"
        level = Level.LOOK if one.standing is Standing.SOON else Level.ACT
        yield Notice(level, "gauge", text, "traveler gauge due", -float(one.days or 0))


def _stops(office: Office, records: Records) -> Iterator[Notice]:
    longest = _days(office, "stopped")
    for one in stops_of_shop(records):
        age = _age(office, one.stop.entry.at)
        where = f"at {one.stop.slot}" if one.stop.slot is not None else "as a whole"
        text = f"{one.unit.serial} is stopped {where} for {counted(age, 'day')}: {one.stop.what}"
        level = Level.ACT if age >= longest else Level.LOOK
        yield Notice(level, "stop", text, f"traveler trace {one.unit.serial}", age)


def _cases(office: Office, records: Records) -> Iterator[Notice]:
    for one in list_cases(office, records, opened=True):
        case = one.case
        fresh = case.state is CaseState.OPEN
        level = Level.ACT if fresh or one.overdue else Level.LOOK
        waits = "nothing is contained yet" if fresh else f"{case.state}"
        late = f", the effect was to be checked by {case.due}" if one.overdue else ""
        text = f"{case.name}, {counted(one.age, 'day')} old, {waits}{late}: {case.complaint.text}"
        yield Notice(level, "complaint", text, f"traveler case {case.name}", one.age)


def _readings(office: Office, records: Records, moment: datetime) -> Iterator[Notice]:
    weigher, plans = weigher_of(office), Plans(records)
    minimum = parse_number(office.shop.settings.minimum_ppk).value
    for product in products(records):
        collector = Collector(Narrowed())
        units = newest(records, Wanted(product), NEWEST)
        for unit, entries in entries_of(records, units, kinds=KINDS):
            collector.add(unit_life(unit, plans.plan(unit, entries), entries, weigher))
        yield from from_readings(product, collector, moment, minimum)


def _concessions(records: Records, moment: datetime) -> Iterator[Notice]:
    """Decisions by which a unit will not be as specified, those that were not withdrawn."""
    decided = since(records, ("decided",), moment)
    granted = [(one, one.body) for one in decided if isinstance(one.body, Decided) and _granted(one.body)]
    serials = sorted({one.unit for one, _ in granted})
    by_unit = groupby(records.entries_of_kinds(serials, ("decided", "struck")), key=lambda one: one.unit)
    stand = {(serial, one.seq) for serial, own in by_unit for one in counting(tuple(own))}
    for one, body in granted:
        if (one.unit, one.seq) in stand:
            word = "used as it is" if body.decision == "use_as_is" else body.decision.replace("_", " ")
            where = f" at {one.slot}" if one.slot else ""
            number = body.concession or "without a number"
            text = f"{one.unit}{where} is decided on: {word}, concession {number}"
            told = f"{text}: {body.text}" if body.text else text
            yield Notice(Level.KNOW, "concession", told, f"traveler trace {one.unit}")


def _granted(body: Decided) -> bool:
    return body.decision == "use_as_is" or bool(body.concession)


def _waiting(office: Office, records: Records) -> Iterator[Notice]:
    """Units in a state for too long; those that are stopped are told by :func:`_stops`."""
    states = [state for state in AGEING if state != "stopped"]
    shortest = min(_days(office, state) for state in states)
    units = waiting(records, states, office.now - timedelta(days=shortest))
    old = [one for one in units if _age(office, one.issued) >= _days(office, one.state)]
    late = [one for one in old if one.state in LATE]
    working = [one for one in old if one.state not in LATE]
    plans = Plans(records)
    for some, kinds in ((late, TURNING), (working, None)):
        for unit, entries in entries_of(records, some, kinds=kinds):
            age = _age(office, in_state_since(entries, plans.plan(unit, entries)))
            if age >= _days(office, unit.state):
                text = f"{unit.serial} {unit.product} is {unit.state} for {counted(age, 'day')}"
                text += f", order {unit.order}" if unit.order else ""
                level = Level.LOOK if unit.order or unit not in late else Level.KNOW
                yield Notice(level, "waiting", text, f"traveler validate {unit.serial}", age)


def _days(office: Office, state: str) -> int:
    """Days in a state after which a unit is told."""
    told: dict[str, int] = dict(office.shop.settings.ageing_days)  # type: ignore[arg-type]
    return told.get(state, AGEING[state])


def _age(office: Office, moment: datetime) -> int:
    """Calendar days since then, in the shop's zone."""
    return (office.today - office.day(moment)).days
