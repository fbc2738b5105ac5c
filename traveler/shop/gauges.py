"""The gauge register: gauges, their calibrations, their times out of use, and their state today."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from enum import StrEnum
from functools import cached_property
from typing import Annotated, ClassVar

from pydantic import BeforeValidator, Field

from traveler.definition.fields import Frozen
from traveler.finding import CannotDo
from traveler.result import Result
from traveler.shop.people import Day
from traveler.text import NotUnderstood, day_in, days_late, did_you_mean, read_day, read_moment


def _moment(written: object) -> object:
    """The moment in a text; of a day alone its midnight."""
    if not isinstance(written, str):
        return written
    try:
        return datetime.combine(read_day(written), time.min)
    except NotUnderstood:
        return read_moment(written)


Moment = Annotated[datetime, BeforeValidator(_moment)]
"""A moment in a file of the shop; without an offset it is in the shop's zone."""

IN_TOLERANCE, OUT_OF_TOLERANCE = "in tolerance", "out of tolerance"
"""How a gauge comes to a calibration."""


class Calibration(Frozen):
    """One calibration. ``good`` says whether it left in tolerance; ``as_found`` how it was before.

    ``error`` is what the gauge showed too much (``+``) or too little (``-``) as found
    (:mod:`traveler.measure.gauge_error`), ``uncertainty`` the expanded uncertainty with its unit, ``k`` its
    coverage factor, ``by`` who entered it.
    """

    on: Day
    good: bool = True
    as_found: str = IN_TOLERANCE
    error: str | None = None
    certificate: str | None = None
    uncertainty: str | None = None
    k: str = "2"
    by: str | None = None

    @property
    def found_in(self) -> bool:
        """Whether the gauge came to it in tolerance; what is not said to be so was not."""
        return self.as_found.strip().casefold() in ("in", IN_TOLERANCE)


class Withdrawal(Frozen):
    """A time out of use: from ``out`` until ``back``, or for good. Without a time of day: from midnight.

    A time without an offset is the shop's.
    """

    out: Moment
    back: Moment | None = None
    reason: str = ""
    by: str | None = None

    def holds(self, moment: datetime, zone: tzinfo) -> bool:
        """Whether the gauge was out of use at that moment; an hour that the clocks repeat counts as out."""
        if moment < in_zone(self.out, zone):
            return False
        return self.back is None or moment < in_zone(self.back.replace(fold=1), zone)


def in_zone(moment: datetime, zone: tzinfo) -> datetime:
    """The moment with a zone: its own, else this one."""
    return moment if moment.tzinfo is not None else moment.replace(tzinfo=zone)


class CalibrationState(StrEnum):
    """What the calibrations of a gauge say of a day."""

    GOOD = "good"
    NONE = "none"
    FAILED = "failed"
    OVERDUE = "overdue"


class Gauge(Frozen):
    """One gauge. Lengths, resolutions and uncertainties are text with units, as a person wrote them."""

    id: str = Field(pattern=r"^[A-Z0-9][A-Z0-9-]*$")
    kind: str
    title: str = ""
    range: str | None = None
    resolution: str | None = None
    uncertainty: str | None = None
    k: str = "2"
    interval_days: int = Field(gt=0)
    calibrations: tuple[Calibration, ...] = ()
    withdrawn: Day | None = None
    """The day from which it is out of use for good."""
    withdrawals: tuple[Withdrawal, ...] = ()

    @property
    def times_out(self) -> tuple[Withdrawal, ...]:
        """Every time out of use, the one of ``withdrawn`` too."""
        if self.withdrawn is None:
            return self.withdrawals
        return (*self.withdrawals, Withdrawal(out=datetime.combine(self.withdrawn, time.min)))

    def withdrawal_at(self, moment: datetime, zone: tzinfo) -> Withdrawal | None:
        """Because of which it was out of use at that moment; None: it was not."""
        return next((withdrawal for withdrawal in self.times_out if withdrawal.holds(moment, zone)), None)

    def last_calibration(self, day: date) -> Calibration | None:
        """The calibration in force on that day: the latest until then, of one day the last entered."""
        done = [calibration for calibration in reversed(self.calibrations) if calibration.on <= day]
        return max(done, key=lambda calibration: calibration.on, default=None)

    def calibration_state(self, day: date) -> CalibrationState:
        """Whether the calibration in force on that day is good; it holds through the day it is due."""
        last, due = self.last_calibration(day), self.due(day)
        if last is None:
            return CalibrationState.NONE
        if due is None:
            return CalibrationState.FAILED
        return CalibrationState.GOOD if not days_late(due, day) else CalibrationState.OVERDUE

    def uncertainty_on(self, day: date) -> tuple[str, str] | None:
        """Expanded uncertainty and its k in force on that day: of the calibration, else of the gauge."""
        last = self.last_calibration(day)
        if last is not None and last.uncertainty:
            return last.uncertainty, last.k
        return (self.uncertainty, self.k) if self.uncertainty else None

    def due(self, day: date) -> date | None:
        """The day through which the calibration in force on ``day`` holds; None without a good one."""
        last = self.last_calibration(day)
        if last is None or not last.good:
            return None
        return last.on + timedelta(days=self.interval_days)

    def standing_text(self, day: date) -> str:
        """What is said of its calibration on that day, after its name: ``was good through 2026-10-20``."""
        last, state = self.last_calibration(day), self.calibration_state(day)
        if last is None:
            return "has no calibration"
        if state is CalibrationState.FAILED:
            return f"failed its calibration of {last.on}"
        return f"{'is' if state is CalibrationState.GOOD else 'was'} good through {self.due(day)}"

    def usable_on(self, day: date, zone: tzinfo) -> bool:
        """Whether it is in calibration on that day and still in use at its end."""
        end = datetime.combine(day, time.max, zone)
        good = self.calibration_state(day) is CalibrationState.GOOD
        return good and self.withdrawal_at(end, zone) is None


class GaugeRegister(Frozen):
    """All gauges, by id."""

    gauges: tuple[Gauge, ...] = ()

    @cached_property
    def by_id(self) -> dict[str, Gauge]:
        """Id → gauge; of two with one id the first."""
        return {gauge.id: gauge for gauge in reversed(self.gauges)}

    def get(self, gauge: str) -> Gauge | None:
        """The gauge of this id, or None."""
        return self.by_id.get(gauge)

    def named(self, gauge: str) -> Gauge:
        """The gauge that a person names by its id, in whatever case.

        Raises:
            CannotDo: there is none.
        """
        found = self.get(gauge) or self.get(gauge.strip().upper())
        if found is None:
            what = f"there is no gauge {gauge!r} in the register"
            raise CannotDo(what, did_you_mean(gauge, self.by_id, "gauges.yaml lists them"))
        return found


class GaugeState(StrEnum):
    """Whether a gauge may be used, in a word."""

    FIT = "fit"
    SOON = "due soon"
    OVERDUE = "overdue"
    NOT_CALIBRATED = "not calibrated"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class GaugeToday(Result):
    """A gauge and how it stands: the calibration in force, the day through which it holds, the days left.

    ``days`` is negative where it is overdue; ``due`` and ``days`` are None without a good calibration.
    """

    json_keys: ClassVar[str] = (
        "id=gauge.id kind=gauge.kind title=gauge.title state=standing due days range=gauge.range "
        "resolution=gauge.resolution uncertainty k interval_days=gauge.interval_days "
        "calibrated=calibration.on certificate=calibration.certificate withdrawn=withdrawal.out "
        "reason=withdrawal.reason calibrations=gauge.calibrations"
    )

    gauge: Gauge
    standing: GaugeState
    calibration: Calibration | None
    due: date | None
    days: int | None
    withdrawal: Withdrawal | None

    @property
    def uncertainty(self) -> str | None:
        """The expanded uncertainty in force, with its unit."""
        return self._known[0]

    @property
    def k(self) -> str:
        """Its coverage factor."""
        return self._known[1]

    @property
    def _known(self) -> tuple[str | None, str]:
        last = self.calibration
        known = self.gauge.uncertainty_on(last.on) if last is not None else None
        return known or (self.gauge.uncertainty, self.gauge.k)


def gauge_today(gauge: Gauge, now: datetime, zone: tzinfo, soon_days: int) -> GaugeToday:
    """How the gauge stands at this moment; it is due soon in its last ``soon_days`` days."""
    today = day_in(zone, now)
    last, due = gauge.last_calibration(today), gauge.due(today)
    days = (due - today).days if due is not None else None
    withdrawal = gauge.withdrawal_at(now, zone)
    if withdrawal is not None:
        standing = GaugeState.WITHDRAWN
    else:
        soon = days is not None and days <= soon_days
        standing = {
            CalibrationState.GOOD: GaugeState.SOON if soon else GaugeState.FIT,
            CalibrationState.OVERDUE: GaugeState.OVERDUE,
        }.get(gauge.calibration_state(today), GaugeState.NOT_CALIBRATED)
    return GaugeToday(gauge, standing, last, due, days, withdrawal)


def due_within(gauges: Iterable[Gauge], now: datetime, zone: tzinfo, days: int) -> list[GaugeToday]:
    """Those in use that have to be calibrated within so many days: the most urgent first, then by id.

    Overdue ones and those without a good calibration are among them.
    """
    stand = (gauge_today(gauge, now, zone, days) for gauge in gauges)
    found = [today for today in stand if today.standing not in (GaugeState.FIT, GaugeState.WITHDRAWN)]
    return sorted(found, key=lambda item: (item.days is not None, item.days or 0, item.gauge.id))
