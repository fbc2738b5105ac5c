"""Findings about gauges: the right one, known, calibrated, certain enough (GAU001 to GAU008).

Only readings that rule are asked about: an earlier reading that was read again decides nothing any more.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, datetime, time
from difflib import get_close_matches
from fractions import Fraction
from functools import lru_cache

from traveler.definition.plan import GaugeNeed
from traveler.measure.judge import inside
from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import format_number, shown
from traveler.measure.quantity import Quantity, same_dimension
from traveler.measure.unreadable import Unreadable
from traveler.record.entry import Entry
from traveler.shop.gauges import Gauge
from traveler.verdict.case import Case
from traveler.verdict.grouping import Gathered, Trouble
from traveler.verdict.judging import Ruling
from traveler.verdict.tolerance import uncertainty_ratio
from traveler.verdict.weighing import number_or

REFUSING = frozenset({"GAU001", "GAU002", "GAU003", "GAU004", "GAU005", "GAU007"})
"""Troubles because of which a reading is not accepted."""


def gauge_troubles(case: Case, rulings: Iterable[Ruling]) -> Gathered:
    """Everything wrong with the gauges of the readings that rule."""
    gathered = Gathered()
    known: dict[tuple[str | None, str, date], list[Trouble]] = {}
    out = _Withdrawn(case)
    for ruling in rulings:
        body, entry, need = ruling.body, ruling.entry, ruling.step.gauge
        if body is None or entry is None or (need is None and body.gauge is None):
            continue
        key = (body.gauge, ruling.step.id, case.day_of(entry))
        troubles = known.get(key)
        if troubles is None:
            troubles = known[key] = [
                *_standing(case, body.gauge, need, key[2]),
                *_certain(case, ruling, body.gauge),
            ]
        gauge = case.gauges.get(body.gauge) if body.gauge else None
        for trouble in troubles:
            gathered.add(trouble, ruling.slot, entry.seq)
        if gauge is None:
            continue
        for trouble in out.at(gauge, entry) if gauge.withdrawals or gauge.withdrawn else ():
            gathered.add(trouble, ruling.slot, entry.seq)
        if gauge.range is not None and _outside(ruling.written, gauge.range):
            what = f"{ruling.written} lies outside the range of {gauge.id}, {gauge.range}"
            gathered.add(Trouble("GAU008", what, "use another gauge"), ruling.slot, entry.seq)
    return gathered


class _Withdrawn:
    """Gauges that were out of use when they were read with; asked by the minute, not by the day."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self._known: dict[tuple[str, datetime], list[Trouble]] = {}

    def at(self, gauge: Gauge, entry: Entry) -> list[Trouble]:
        """What is wrong with using this gauge at the time of this entry."""
        key = (gauge.id, entry.at)
        if key not in self._known:
            self._known[key] = list(self._asked(gauge, entry))
        return self._known[key]

    def _asked(self, gauge: Gauge, entry: Entry) -> Iterator[Trouble]:
        case = self.case
        found = gauge.withdrawal_at(entry.at, case.zone)
        if found is not None:
            why = f" ({found.reason})" if found.reason else ""
            what = f"{gauge.id} was withdrawn on {_when(found.out)}{why}, used on {case.day_of(entry)}"
            yield Trouble("GAU005", what, "read it again with another gauge")


def _when(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d}" if moment.time() == time.min else f"{moment:%Y-%m-%d at %H:%M}"


def _standing(case: Case, name: str | None, need: GaugeNeed | None, day: date) -> Iterator[Trouble]:
    """What is wrong with using this gauge on that day, whatever was read."""
    if not name:
        wanted = need.title or need.kind if need else "gauge"
        yield Trouble(
            "GAU001", f"no gauge is named; the check needs a {wanted}", "record the id on the gauge's label"
        )
        return
    gauge = case.gauges.get(name)
    if gauge is None:
        close = get_close_matches(name, case.gauges.by_id, n=1)
        hint = f"did you mean {close[0]}?" if close else "gauges are listed in gauges.yaml"
        yield Trouble("GAU002", f"gauge {name} is not in the register", hint)
        return
    if need is not None and gauge.kind != need.kind:
        yield Trouble("GAU003", f"{name} is a {gauge.kind}; the check needs a {need.kind}", "read it again")
    yield from _calibrated(gauge, day)


def _calibrated(gauge: Gauge, day: date) -> Iterator[Trouble]:
    last = gauge.last_calibration(day)
    if last is None or not last.good:
        why = "has no calibration" if last is None else f"failed its calibration of {last.on}"
        yield Trouble("GAU007", f"{gauge.id} {why} as of {day}", "calibrate it and read again")
        return
    due = gauge.due(day)
    if due is not None and due < day:
        what = f"{gauge.id} was due through {due}, used on {day}"
        yield Trouble("GAU004", what, "read it again with a gauge that is in calibration")


def _certain(case: Case, ruling: Ruling, name: str | None) -> Iterator[Trouble]:
    """Whether the gauge is certain enough for the limits."""
    wanted = number_or(case.settings.minimum_tur, Fraction(4))
    ratio = uncertainty_ratio(ruling)
    if ratio is None or ratio >= wanted or ruling.limits is None:
        return
    what = (
        f"{name} with an uncertainty of {ruling.uncertainty} gives a test uncertainty ratio of "
        f"{format_number(ratio, 1)} on {ruling.limits.describe()}; the shop wants at least {shown(wanted)}"
    )
    yield Trouble("GAU006", what, "use a gauge of smaller uncertainty")


@lru_cache(maxsize=1024)
def _range(text: str) -> Limits | None:
    """The range as limits. One from zero is a travel: a dial set to zero on the part reads to both sides."""
    try:
        span = parse_limits(text)
    except Unreadable:
        return None
    if span.lower == 0 and span.upper is not None:
        return replace(span, lower=-span.upper)
    return span


def _outside(read: Quantity, text: str) -> bool:
    """Whether a reading lies outside a range as written; not, where either cannot be compared."""
    span = _range(text)
    if span is None:
        return False
    if read.unit == span.unit:
        return not inside(read.value, span.lower, span.upper)
    if not same_dimension(read.unit, span.unit):
        return False
    return not inside(read.to(span.unit).value, span.lower, span.upper)
