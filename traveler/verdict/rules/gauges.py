"""Findings about gauges: the right one, known, calibrated, certain enough (GAU001 to GAU008)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from fractions import Fraction
from functools import lru_cache

from traveler.definition.plan import GaugeNeed
from traveler.measure.judge import judge_reading
from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import Unreadable, display_number, format_number
from traveler.measure.quantity import Quantity, same_dimension
from traveler.record.entry import Entry
from traveler.shop.gauges import CalibrationState, Gauge
from traveler.text import did_you_mean
from traveler.verdict.case import Case, Problem, Problems
from traveler.verdict.rows import ReadingRow, number_or, quantity_or_none


def ratio_of_reading(row: ReadingRow) -> Fraction | None:
    """Test uncertainty ratio of the gauge on the limits of a reading; None where it is not known."""
    if row.limits is None or row.uncertainty is None:
        return None
    try:
        return judge_reading(row.limits, row.value, uncertainty=row.uncertainty, k=row.k).ratio
    except Unreadable:
        return None


def difference_in(unit: str, difference: Quantity) -> Fraction | None:
    """A difference (a step, an uncertainty) in another unit; None where the dimension is another."""
    try:
        return difference.difference_to(unit).value
    except Unreadable:
        return None


@dataclass(frozen=True, slots=True)
class Resolution:
    """The smallest step a gauge shows. ``decimal``: it is one in the last of ``decimals`` places."""

    step: Quantity
    decimals: int
    decimal: bool


@lru_cache(maxsize=1024)
def resolution_from(text: str) -> Resolution | None:
    """The resolution in a register's or definition's text; None where it says none."""
    step = quantity_or_none(text)
    if step is None or step.value <= 0:
        return None
    return Resolution(step, step.decimals, step.value == Fraction(1, 10**step.decimals))


def resolution_of(case: Case, row: ReadingRow) -> Resolution | None:
    """The resolution of the gauge that read it, else of the kind the plan asks for; None if not known."""
    need = row.step.gauge
    gauge = case.gauges.get(row.gauge) if row.gauge and not row.worked else None
    text = (gauge.resolution if gauge is not None else None) or (
        need.resolution if need is not None else None
    )
    return resolution_from(text) if text else None


REFUSING = frozenset({"GAU001", "GAU002", "GAU003", "GAU004", "GAU005", "GAU007"})
"""Problems because of which a reading is not accepted."""


def gauge_problems(case: Case, rows: Iterable[ReadingRow]) -> Problems:
    """Everything wrong with the gauges of the readings that rule."""
    gathered = Problems()
    known: dict[tuple[str | None, str, date], list[Problem]] = {}
    out = _Withdrawn(case)
    for row in rows:
        entry, need = row.entry, row.step.gauge
        if need is None and row.gauge is None:
            continue
        key = (row.gauge, row.step.id, case.day_of(entry))
        problems = known.get(key)
        if problems is None:
            problems = known[key] = [
                *_standing(case, row.gauge, need, key[2]),
                *_certain(case, row, row.gauge),
            ]
        gauge = case.gauges.get(row.gauge) if row.gauge else None
        for problem in problems:
            gathered.add(problem, row.slot, entry.seq)
        if gauge is None:
            continue
        for problem in out.at(gauge, entry) if gauge.withdrawals or gauge.withdrawn else ():
            gathered.add(problem, row.slot, entry.seq)
        if gauge.range is not None and _outside(row.written, gauge.range):
            what = f"{row.written} lies outside the range of {gauge.id}, {gauge.range}"
            gathered.add(Problem("GAU008", what, "use another gauge"), row.slot, entry.seq)
    return gathered


class _Withdrawn:
    """Gauges that were out of use when they were read with; asked by the minute, not by the day."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self._known: dict[tuple[str, datetime], list[Problem]] = {}

    def at(self, gauge: Gauge, entry: Entry) -> list[Problem]:
        """What is wrong with using this gauge at the time of this entry."""
        key = (gauge.id, entry.at)
        if key not in self._known:
            self._known[key] = list(self._asked(gauge, entry))
        return self._known[key]

    def _asked(self, gauge: Gauge, entry: Entry) -> Iterator[Problem]:
        case = self.case
        found = gauge.withdrawal_at(entry.at, case.zone)
        if found is not None:
            why = f" ({found.reason})" if found.reason else ""
            what = f"{gauge.id} was withdrawn on {_when(found.out)}{why}, used on {case.day_of(entry)}"
            yield Problem("GAU005", what, "read it again with another gauge")


def _when(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d}" if moment.time() == time.min else f"{moment:%Y-%m-%d at %H:%M}"


def _standing(case: Case, name: str | None, need: GaugeNeed | None, day: date) -> Iterator[Problem]:
    """What is wrong with using this gauge on that day, whatever was read."""
    if not name:
        wanted = need.title or need.kind if need else "gauge"
        yield Problem(
            "GAU001", f"no gauge is named; the check needs a {wanted}", "record the id on the gauge's label"
        )
        return
    gauge = case.gauges.get(name)
    if gauge is None:
        fit = [gauge for gauge in case.gauges.gauges if gauge.usable_on(day, case.zone)]
        known = [gauge.id for gauge in fit if need is None or gauge.kind == need.kind]
        hint = did_you_mean(name, known, "gauges are listed in gauges.yaml")
        yield Problem("GAU002", f"gauge {name} is not in the register", hint)
        return
    if need is not None and gauge.kind != need.kind:
        yield Problem("GAU003", f"{name} is a {gauge.kind}; the check needs a {need.kind}", "read it again")
    yield from _calibrated(gauge, day)


def _calibrated(gauge: Gauge, day: date) -> Iterator[Problem]:
    stands = gauge.standing_text(day)
    match gauge.calibration_state(day):
        case CalibrationState.NONE | CalibrationState.FAILED:
            yield Problem("GAU007", f"{gauge.id} {stands} as of {day}", "calibrate it and read again")
        case CalibrationState.OVERDUE:
            what = f"{gauge.id} {stands}, used on {day}"
            yield Problem("GAU004", what, "read it again with a gauge that is in calibration")
        case CalibrationState.GOOD:
            pass


def _certain(case: Case, row: ReadingRow, name: str | None) -> Iterator[Problem]:
    """Whether the gauge is certain enough for the limits."""
    wanted = number_or(case.settings.minimum_tur, Fraction(4))
    ratio = ratio_of_reading(row)
    if ratio is None or ratio >= wanted or row.limits is None:
        return
    what = (
        f"{name} with an uncertainty of {row.uncertainty} gives a test uncertainty ratio of "
        f"{format_number(ratio, 1)} on {row.limits.describe()}; the shop wants at least "
        f"{display_number(wanted)}"
    )
    yield Problem("GAU006", what, "use a gauge of smaller uncertainty")


@lru_cache(maxsize=1024)
def _range(text: str) -> Limits | None:
    """The range as limits. One from zero is a travel: a dial set to zero on the part shows both sides."""
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
        return not span.holds(read.value)
    if not same_dimension(read.unit, span.unit):
        return False
    return not span.holds(read.to(span.unit).value)
