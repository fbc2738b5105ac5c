"""The reading that rules in each slot: the last one done that can be understood, weighed against limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from traveler.definition.plan import SlotKind, Step
from traveler.measure.limits import Limits
from traveler.measure.quantity import Quantity
from traveler.record.entry import Entry, Read
from traveler.shop.settings import Settings
from traveler.verdict.case import Case, Filled
from traveler.verdict.outcome import SlotState
from traveler.verdict.weighing import NOT_KNOWN, Known, Rule, Unfit, Weighed, understood, weigh_reading


@dataclass(frozen=True, slots=True)
class Garbled:
    """A reading that cannot be judged, and why (a code of the readings family)."""

    slot: str
    entry: Entry
    code: str
    what: str
    hint: str = ""


class Ruling(NamedTuple):
    """What stands in a slot: a reading (with its entry), or a worked-out value (without)."""

    slot: str
    step: Step
    limits: Limits | None
    weighed: Weighed
    known: Known = NOT_KNOWN
    entry: Entry | None = None
    body: Read | None = None
    where: str = ""
    """For a worked-out value: where it comes from, in words."""
    latest: int = 0
    """For a worked-out value: the number of the last entry it is worked out from."""

    @property
    def seq(self) -> int | None:
        """The number of the entry it was read in."""
        return None if self.entry is None else self.entry.seq

    @property
    def state(self) -> SlotState:
        """In, out or doubtful; done, where there are no limits."""
        return self.weighed.state

    @property
    def value(self) -> Quantity:
        """The value in the unit of the limits."""
        return self.weighed.value

    @property
    def written(self) -> Quantity:
        """The value in the unit it was written in."""
        return self.weighed.written

    @property
    def uncertainty(self) -> Quantity | None:
        """Expanded uncertainty with coverage factor ``k``, where known."""
        return self.known.expanded

    @property
    def k(self) -> Fraction:
        """Coverage factor of the uncertainty."""
        return self.known.factor


@dataclass(frozen=True, slots=True)
class Judged:
    """All slots with readings: the ruling reading of each, and what could not be judged after it."""

    rulings: dict[str, Ruling]
    garbled: tuple[Garbled, ...]


def judge_readings(case: Case) -> Judged:
    """The ruling reading of every slot that is read, in the order in which they were first written."""
    return _Readings(case).judged()


def understand(slot: str, entry: Entry, limits: Limits | None) -> Quantity | Garbled:
    """The reading as a quantity, or why it is none (REA003 to REA005)."""
    body = entry.body
    if not isinstance(body, Read):
        return Garbled(slot, entry, "REA005", f"{body.kind} is no reading")
    found = understood(body.value, body.unit, limits)
    return found if isinstance(found, Quantity) else Garbled(slot, entry, *found)


def rule_of(case: Case, step: Step) -> Rule:
    """The rule of the check, else of the shop."""
    return rule_in(case.settings, step)


def rule_in(settings: Settings, step: Step) -> Rule:
    """The rule of the check, else the one these settings of a shop give."""
    return Rule(
        "guarded" if (step.rule or settings.decision_rule) == "guarded" else "simple",
        "rounding" if (step.rounding or settings.rounding) == "rounding" else "absolute",
        settings.guard_factor,
    )


class _Readings:
    """One pass over the readings of a case, with what is looked up once per step, or per gauge and day."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.garbled: list[Garbled] = []
        self._rules: dict[str, Rule] = {}
        self._known: dict[tuple[str, date], Known] = {}

    def judged(self) -> Judged:
        rulings: dict[str, Ruling] = {}
        for slot, filled in self.case.filled_of(SlotKind.READING):
            if filled.spot.step is not None:
                ruling = self._ruling(filled, slot, filled.spot.step)
                if ruling is not None:
                    rulings[slot] = ruling
        return Judged(rulings, tuple(self.garbled))

    def _ruling(self, filled: Filled, slot: str, step: Step) -> Ruling | None:
        """The last understood reading as left; where there is none, the last one as found."""
        limits = self.case.planned.limits.get(step.id)
        rule = self._rules.get(step.id)
        if rule is None:
            rule = self._rules[step.id] = rule_of(self.case, step)
        for entry, body in newest_first(filled.entries):
            known = self._uncertainty(entry, body)
            counted = known if rule.decision == "guarded" else NOT_KNOWN
            found = weigh_reading(limits.text if limits else None, body.value, body.unit, rule, counted)
            if not isinstance(found, Unfit):
                return Ruling(slot, step, limits, found, known, entry, body)
            self.garbled.append(Garbled(slot, entry, *found))
        return None

    def _uncertainty(self, entry: Entry, body: Read) -> Known:
        """Uncertainty of the gauge on the day it was read with."""
        if not body.gauge:
            return NOT_KNOWN
        key = (body.gauge, self.case.day_of(entry))
        known = self._known.get(key)
        if known is None:
            gauge = self.case.gauges.get(body.gauge)
            told = gauge.uncertainty_on(key[1]) if gauge is not None else None
            known = self._known[key] = NOT_KNOWN if told is None else Known(*told)
        return known


def newest_first(entries: Sequence[Entry]) -> list[tuple[Entry, Read]]:
    """Readings as left, the last one first; then those as found, the last one first."""
    read = [(one, one.body) for one in reversed(entries) if isinstance(one.body, Read)]
    if len(read) > 1:
        read.sort(key=lambda one: one[1].as_found)
    return read
