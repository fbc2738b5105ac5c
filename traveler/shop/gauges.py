"""The gauge register: which gauges there are, of which kind, their calibrations, their times out of use."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta, tzinfo
from functools import cached_property

from pydantic import Field

from traveler.definition.plan import Frozen

IN_TOLERANCE, OUT_OF_TOLERANCE = "in tolerance", "out of tolerance"
"""How a gauge comes to a calibration."""


class Calibration(Frozen):
    """One calibration. ``good`` says whether it left in tolerance; ``as_found`` how it was before.

    ``error`` is what the gauge showed too much (``+``) or too little (``-``) as found
    (:mod:`traveler.measure.found_error`), ``uncertainty`` the expanded uncertainty with its unit, ``k`` its
    coverage factor, ``by`` who entered it.
    """

    on: date
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

    out: datetime
    back: datetime | None = None
    reason: str = ""
    by: str | None = None

    def holds(self, moment: datetime, zone: tzinfo) -> bool:
        """Whether the gauge was out of use at that moment; an hour that the clocks repeat counts as out."""
        if moment < placed(self.out, zone):
            return False
        return self.back is None or moment < placed(self.back.replace(fold=1), zone)


def placed(moment: datetime, zone: tzinfo) -> datetime:
    """The moment with a zone: its own, else this one."""
    return moment if moment.tzinfo is not None else moment.replace(tzinfo=zone)


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
    withdrawn: date | None = None
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
        return next((one for one in self.times_out if one.holds(moment, zone)), None)

    def last_calibration(self, day: date) -> Calibration | None:
        """The latest calibration on or before that day, or None."""
        done = [one for one in self.calibrations if one.on <= day]
        return max(done, key=lambda one: one.on, default=None)

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


class GaugeRegister(Frozen):
    """All gauges, by id."""

    gauges: tuple[Gauge, ...] = ()

    @cached_property
    def by_id(self) -> dict[str, Gauge]:
        """Id → gauge; of two with one id the first."""
        return {one.id: one for one in reversed(self.gauges)}

    def get(self, gauge: str) -> Gauge | None:
        """The gauge of this id, or None."""
        return self.by_id.get(gauge)
