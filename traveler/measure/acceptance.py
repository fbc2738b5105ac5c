"""Acceptance zones: the tolerance reduced by a guard band, and what a reading then proves.

Sources: ISO 14253-1 (the uncertainty counts against whoever makes the statement), JCGM 106:2012 clause 8
(guard band w = r · U), ILAC-G8:09/2019 (binary and non-binary statements). All exact; U is the expanded
uncertainty, and a reading on an acceptance limit is accepted.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Literal, NamedTuple


class Zone(NamedTuple):
    """Bounds of a zone, both inclusive; None where there is no such bound."""

    lower: Fraction | None
    upper: Fraction | None

    def holds(self, value: Fraction) -> bool:
        """Whether the value lies between the bounds or on one of them."""
        return (self.lower is None or value >= self.lower) and (self.upper is None or value <= self.upper)

    def margin(self, value: Fraction) -> Fraction:
        """How far inside the nearest bound the value lies; negative outside, 0 on the bound.

        A zone without bounds has no margin; 0 is given.
        """
        below = [] if self.lower is None else [value - self.lower]
        above = [] if self.upper is None else [self.upper - value]
        return min(below + above, default=Fraction(0))

    @property
    def width(self) -> Fraction | None:
        """Its width; None if it has one bound only."""
        return None if self.lower is None or self.upper is None else self.upper - self.lower


def acceptance_zone(tolerance: Zone, guard_band: Fraction) -> Zone | None:
    """The tolerance zone with each bound moved inwards by the guard band; None if nothing is left.

    A negative guard band widens it (guarded rejection, JCGM 106:2012 8.3.3).
    """
    lower = None if tolerance.lower is None else tolerance.lower + guard_band
    upper = None if tolerance.upper is None else tolerance.upper - guard_band
    return None if lower is not None and upper is not None and lower > upper else Zone(lower, upper)


def rejection_zone(tolerance: Zone, uncertainty: Fraction) -> Zone:
    """The zone beyond whose bounds nonconformity is proven (ISO 14253-1: tolerance widened by U)."""
    widened = acceptance_zone(tolerance, -uncertainty)
    return tolerance if widened is None else widened


def proven(value: Fraction, tolerance: Zone, uncertainty: Fraction) -> Literal["pass", "undecided", "fail"]:
    """What a reading proves: conformity, nonconformity, or neither (ISO 14253-1)."""
    accepted = acceptance_zone(tolerance, uncertainty)
    if accepted is not None and accepted.holds(value):
        return "pass"
    return "undecided" if rejection_zone(tolerance, uncertainty).holds(value) else "fail"


Statement = Literal["pass", "conditional pass", "conditional fail", "fail"]


def statement(value: Fraction, tolerance: Zone, guard_band: Fraction) -> Statement:
    """The non-binary statement with a guard band (ILAC-G8:09/2019 clause 4.2.3)."""
    accepted = acceptance_zone(tolerance, guard_band)
    if accepted is not None and accepted.holds(value):
        return "pass"
    if tolerance.holds(value):
        return "conditional pass"
    return "conditional fail" if rejection_zone(tolerance, guard_band).holds(value) else "fail"


def uncertainty_ratio(tolerance: Zone, uncertainty: Fraction) -> Fraction | None:
    """Test uncertainty ratio: width of the tolerance over that of the uncertainty, 2 · U (ANSI/NCSL Z540.3).

    With one bound only the standard names no width. Common practice, no source: the distance of the bound
    from zero stands for it, as for a run-out or a gap, which cannot be negative. None where that is 0 or U is
    0. U is that with k = 2; scale another one first.
    """
    bound = tolerance.upper if tolerance.upper is not None else tolerance.lower
    width = tolerance.width if tolerance.width is not None else abs(bound or Fraction(0))
    return width / (2 * uncertainty) if width and uncertainty > 0 else None
