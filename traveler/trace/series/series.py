"""One series: the readings of one check at one position against one pair of limits, in the order taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction

from traveler.measure.limits import Limits
from traveler.trace.series.slot_life import Trial
from traveler.verdict.outcome import SlotState

Position = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Point:
    """The reading that counts for one unit. ``value`` is exact, in the series' unit."""

    unit: str
    at: datetime
    seq: int
    value: Fraction
    state: SlotState
    by: str
    gauge: str | None
    revision: str
    variant: str


@dataclass(frozen=True, slots=True)
class FirstLook:
    """How the slot did the first time."""

    unit: str
    at: datetime
    passed: bool


@dataclass(slots=True)
class Series:
    """Readings that may be looked at together. ``operation``, ``title`` and ``rank`` are of the newest plan.

    ``limits`` are in ``unit``, None where the check has none. ``revisions`` and ``variants`` are those that
    were issued with these limits; ``mark`` names them where the same check and position has other limits
    elsewhere, so that two series are never taken for one.
    """

    check: str
    again: bool
    position: Position
    unit: str
    bounds: tuple[Fraction | None, Fraction | None]
    limits: Limits | None = None
    operation: str = ""
    title: str = ""
    rank: int = 0
    worked: bool = False
    mark: str = ""
    points: list[Point] = field(default_factory=list)
    firsts: list[FirstLook] = field(default_factory=list)
    pairs: list[tuple[Fraction, Fraction]] = field(default_factory=list)
    trials: list[Trial] = field(default_factory=list)
    revisions: set[str] = field(default_factory=set)
    variants: set[str] = field(default_factory=set)

    @property
    def lower(self) -> Fraction | None:
        """The lower limit."""
        return self.bounds[0]

    @property
    def upper(self) -> Fraction | None:
        """The upper limit."""
        return self.bounds[1]

    @property
    def name(self) -> str:
        """The check's id, and that it is a repeat: ``runout (again)``."""
        return f"{self.check} (again)" if self.again else self.check

    @property
    def place(self) -> str:
        """The position as text: ``spindle=3,end=far``; empty for a check at one place."""
        return ",".join(f"{name}={value}" for name, value in self.position)

    @property
    def label(self) -> str:
        """Check, position and mark in one line."""
        return " ".join(part for part in (self.name, self.place, self.mark) if part)

    @property
    def limits_text(self) -> str:
        """The limits as a person reads them."""
        return self.limits.describe() if self.limits is not None else "no limits"

    @property
    def values(self) -> tuple[Fraction, ...]:
        """The readings that count, in the order in which they were taken."""
        return tuple(point.value for point in self.points)

    def nearest(self) -> Point | None:
        """The reading worst off: the furthest beyond a limit, or the nearest to one; None without limits."""
        if not self.points or self.bounds == (None, None):
            return None
        return min(self.points, key=lambda point: (self.room(point.value), point.at, point.unit))

    def room(self, value: Fraction) -> Fraction:
        """How far inside the nearer limit a value lies; below zero outside."""
        sides = []
        if self.upper is not None:
            sides.append(self.upper - value)
        if self.lower is not None:
            sides.append(value - self.lower)
        return min(sides, default=Fraction())


def in_order(series: Sequence[Series]) -> tuple[Series, ...]:
    """The series in the order of the work; one with other limits after the one whose units came first."""

    def key(one: Series) -> tuple[int, bool, Position, str]:
        first = min((point.at.isoformat() for point in one.points), default="")
        return one.rank, one.again, one.position, first

    return tuple(sorted(series, key=key))
