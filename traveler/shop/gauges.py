"""The gauge register: which gauges there are, of which kind, and their calibrations."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cached_property

from pydantic import Field

from traveler.definition.plan import Frozen


class Calibration(Frozen):
    """One calibration. ``good`` says whether it left in tolerance; ``as_found`` how it was before.

    ``uncertainty`` is the expanded uncertainty with its unit, ``k`` its coverage factor.
    """

    on: date
    good: bool = True
    as_found: str = "in tolerance"
    certificate: str | None = None
    uncertainty: str | None = None
    k: str = "2"


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
