"""One slot of one unit: its readings that were not struck out, the one that counts, what was adjusted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from traveler.definition.plan import Plan, Slot, Step
from traveler.measure.limits import Limits
from traveler.verdict.outcome import SlotState
from traveler.verdict.planned import Phase, Spot

GOOD = frozenset({SlotState.IN, SlotState.DONE})
"""States of a reading that needs nothing done about it."""


@dataclass(frozen=True, slots=True)
class Taken:
    """One reading that stands. ``value`` is exact, in ``unit``: that of the limits, or its own without."""

    value: Fraction
    unit: str
    state: SlotState
    at: datetime
    seq: int
    by: str
    gauge: str | None = None
    as_found: bool = False

    @property
    def good(self) -> bool:
        """Whether it is in its limits (or has none)."""
        return self.state in GOOD


@dataclass(frozen=True, slots=True)
class Trial:
    """One adjustment: whether as advised (None: not said), and whether the next reading was in."""

    followed: bool | None
    brought_in: bool | None


@dataclass(frozen=True, slots=True)
class SlotLife:
    """A slot that was read or worked out at least once.

    ``readings`` are in the order in which they were taken. ``stands`` is the one that counts for the unit
    (:func:`counts`), None while there is none. ``stopped``: a nonconformance was raised on this slot.
    """

    spot: Spot
    limits: Limits | None
    readings: tuple[Taken, ...]
    stands: Taken | None
    trials: tuple[Trial, ...] = ()
    stopped: bool = False

    @property
    def first(self) -> Taken:
        """The first reading, before any adjustment or rework."""
        return self.readings[0]

    @property
    def passed(self) -> bool:
        """Whether it was right the first time: in at the first reading, and nobody stopped it."""
        return self.first.good and not self.stopped

    @property
    def pair(self) -> tuple[Fraction, Fraction] | None:
        """As found and as left, where the slot was read more than once."""
        if self.stands is None or self.stands.seq == self.first.seq or self.stands.unit != self.first.unit:
            return None
        return self.first.value, self.stands.value


def counts(
    readings: tuple[Taken, ...], phase: Phase, released: int | None, *, finished: bool
) -> Taken | None:
    """The reading that counts for a unit: the last as left before its release.

    ``released`` is the number of the last release that stands. Crating is read after the release, so all its
    readings may count; before a release all that are there may. Where nothing was read as left, the last
    reading as found counts, unless it is out and the unit is still being worked on (``finished`` is
    False): it is not left so yet.
    """
    bounded = released is not None and phase is not Phase.CRATING
    usable = [one for one in readings if not bounded or one.seq < (released or 0)]
    left = [one for one in usable if not one.as_found]
    if left:
        return left[-1]
    if not usable or (not finished and not usable[-1].good):
        return None
    return usable[-1]


def check_named(plan: Plan, step: Step, slot: Slot) -> tuple[str, bool]:
    """The check a slot belongs to, the same over all revisions, and whether it repeats another one.

    A step without an id goes by its text: its number may mean something else in the next revision.
    """
    if slot.repeats is not None:
        first = plan.step_of.get(slot.repeats, step)
        return first.check or first.text, True
    return step.check or step.text, False
