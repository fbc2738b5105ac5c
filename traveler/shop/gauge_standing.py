"""What a gauge is worth today: fit for use, due soon, overdue, not calibrated, or out of use."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from enum import StrEnum

from traveler.shop.gauges import Calibration, Gauge, Withdrawal


class Standing(StrEnum):
    """Whether a gauge may be used, in a word."""

    FIT = "fit"
    SOON = "due soon"
    OVERDUE = "overdue"
    NOT_CALIBRATED = "not calibrated"
    WITHDRAWN = "withdrawn"


USABLE = frozenset({Standing.FIT, Standing.SOON})
"""A reading with such a gauge is accepted."""


@dataclass(frozen=True, slots=True)
class GaugeToday:
    """A gauge and how it stands: the calibration in force, the day through which it holds, the days left.

    ``days`` is negative where it is overdue; ``due`` and ``days`` are None without a good calibration.
    """

    gauge: Gauge
    standing: Standing
    calibration: Calibration | None
    due: date | None
    days: int | None
    withdrawal: Withdrawal | None

    def as_dict(self) -> dict[str, object]:
        """For ``--json``: days as ISO 8601 text, uncertainty with its unit."""
        gauge, last = self.gauge, self.calibration
        known = gauge.uncertainty_on(last.on) if last is not None else None
        return {
            "id": gauge.id,
            "kind": gauge.kind,
            "title": gauge.title,
            "state": str(self.standing),
            "due": self.due.isoformat() if self.due else None,
            "days": self.days,
            "range": gauge.range,
            "resolution": gauge.resolution,
            "uncertainty": known[0] if known else gauge.uncertainty,
            "k": known[1] if known else gauge.k,
            "interval_days": gauge.interval_days,
            "calibrated": last.on.isoformat() if last else None,
            "certificate": last.certificate if last else None,
            "withdrawn": self.withdrawal.out.isoformat() if self.withdrawal else None,
            "reason": self.withdrawal.reason if self.withdrawal else None,
            "calibrations": [one.model_dump(mode="json") for one in gauge.calibrations],
        }


def gauge_today(gauge: Gauge, now: datetime, zone: tzinfo, soon_days: int) -> GaugeToday:
    """How the gauge stands at this moment; it is due soon in its last ``soon_days`` days."""
    today = now.astimezone(zone).date()
    last, due = gauge.last_calibration(today), gauge.due(today)
    days = (due - today).days if due is not None else None
    withdrawal = gauge.withdrawal_at(now, zone)
    if withdrawal is not None:
        standing = Standing.WITHDRAWN
    elif days is None:
        standing = Standing.NOT_CALIBRATED
    elif days < 0:
        standing = Standing.OVERDUE
    else:
        standing = Standing.SOON if days <= soon_days else Standing.FIT
    return GaugeToday(gauge, standing, last, due, days, withdrawal)


def due_within(gauges: Iterable[Gauge], now: datetime, zone: tzinfo, days: int) -> list[GaugeToday]:
    """Those in use that have to be calibrated within so many days: the most urgent first, then by id.

    Overdue ones and those without a good calibration are among them.
    """
    stand = (gauge_today(one, now, zone, days) for one in gauges)
    found = [one for one in stand if one.standing not in (Standing.FIT, Standing.WITHDRAWN)]
    return sorted(found, key=lambda one: (one.days is not None, one.days or 0, one.gauge.id))
