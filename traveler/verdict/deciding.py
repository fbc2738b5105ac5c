"""The reading or worked-out value that decides each slot, weighed against its limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from traveler.definition.plan import SlotKind, Step, WorkOut
from traveler.finding import Finding
from traveler.measure.geometry.work_out import WorkedOut, work_out
from traveler.measure.limits import Limits
from traveler.measure.number import (
    Unreadable,
    decimals_needed,
    display_number,
    exact_text,
    format_number,
    length,
)
from traveler.measure.quantity import Quantity
from traveler.record.entry import Entry, Read
from traveler.shop.settings import Settings
from traveler.verdict.case import Case, SlotEntries
from traveler.verdict.plan_index import PlannedSlot
from traveler.verdict.state import SlotState
from traveler.verdict.weighing import (
    NO_UNCERTAINTY,
    TWO,
    DecisionRule,
    KnownUncertainty,
    Unfit,
    Weighed,
    understood,
    value_text,
    weigh_quantity,
    weigh_reading,
)


@dataclass(frozen=True, slots=True)
class UnreadableReading:
    """A reading that cannot be judged, and why (a code of the readings family)."""

    slot: str
    entry: Entry
    code: str
    what: str
    hint: str = ""


class DecidingReading(NamedTuple):
    """What stands in a slot: a reading (with its entry), or a worked-out value (without)."""

    slot: str
    step: Step
    limits: Limits | None
    weighed: Weighed
    known: KnownUncertainty = NO_UNCERTAINTY
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
class JudgedReadings:
    """All slots with readings: the ruling reading of each, and what could not be judged after it."""

    rulings: dict[str, DecidingReading]
    garbled: tuple[UnreadableReading, ...]


def judge_readings(case: Case) -> JudgedReadings:
    """The ruling reading of every slot that is read, in the order in which they were first written."""
    return _Readings(case).judged()


def understood_entry(slot: str, entry: Entry, limits: Limits | None) -> Quantity | UnreadableReading:
    """The reading as a quantity, or why it is none (REA003 to REA005)."""
    body = entry.body
    if not isinstance(body, Read):
        return UnreadableReading(slot, entry, "REA005", f"{body.kind} is no reading")
    found = understood(body.value, body.unit, limits)
    return found if isinstance(found, Quantity) else UnreadableReading(slot, entry, *found)


def rule_of(case: Case, step: Step) -> DecisionRule:
    """The rule of the check, else of the shop."""
    return rule_in(case.settings, step)


def rule_in(settings: Settings, step: Step) -> DecisionRule:
    """The rule of the check, else the one these settings of a shop give."""
    return DecisionRule(
        "guarded" if (step.rule or settings.decision_rule) == "guarded" else "simple",
        "rounding" if (step.rounding or settings.rounding) == "rounding" else "absolute",
        settings.guard_factor,
    )


class _Readings:
    """One pass over the readings of a case, with what is looked up once per step, or per gauge and day."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.garbled: list[UnreadableReading] = []
        self._rules: dict[str, DecisionRule] = {}
        self._known: dict[tuple[str, date], KnownUncertainty] = {}

    def judged(self) -> JudgedReadings:
        rulings: dict[str, DecidingReading] = {}
        for slot, filled in self.case.filled_of(SlotKind.READING):
            if filled.spot.step is not None:
                ruling = self._ruling(filled, slot, filled.spot.step)
                if ruling is not None:
                    rulings[slot] = ruling
        return JudgedReadings(rulings, tuple(self.garbled))

    def _ruling(self, filled: SlotEntries, slot: str, step: Step) -> DecidingReading | None:
        """The last understood reading as left; where there is none, the last one as found."""
        limits = self.case.planned.limits.get(step.id)
        rule = self._rules.get(step.id)
        if rule is None:
            rule = self._rules[step.id] = rule_of(self.case, step)
        for entry, body in newest_first(filled.entries):
            known = self._uncertainty(entry, body)
            counted = known if rule.decision == "guarded" else NO_UNCERTAINTY
            found = weigh_reading(limits.text if limits else None, body.value, body.unit, rule, counted)
            if not isinstance(found, Unfit):
                return DecidingReading(slot, step, limits, found, known, entry, body)
            self.garbled.append(UnreadableReading(slot, entry, *found))
        return None

    def _uncertainty(self, entry: Entry, body: Read) -> KnownUncertainty:
        """Uncertainty of the gauge on the day it was read with."""
        if not body.gauge:
            return NO_UNCERTAINTY
        key = (body.gauge, self.case.day_of(entry))
        known = self._known.get(key)
        if known is None:
            gauge = self.case.gauges.get(body.gauge)
            told = gauge.uncertainty_on(key[1]) if gauge is not None else None
            known = self._known[key] = NO_UNCERTAINTY if told is None else KnownUncertainty(*told)
        return known


def newest_first(entries: Sequence[Entry]) -> list[tuple[Entry, Read]]:
    """Readings as left, the last one first; then those as found, the last one first."""
    read = [(entry, entry.body) for entry in reversed(entries) if isinstance(entry.body, Read)]
    if len(read) > 1:
        read.sort(key=lambda item: item[1].as_found)
    return read


PositionedReading = tuple[tuple[tuple[str, str], ...], Quantity]
"""The positions of a reading with their values, and the reading."""

_MORE, _MOST = 2, 20
"""Decimals beyond those of the limits: as a rule, and at the most before the exact number is written."""


def work_out_slots(
    case: Case, rulings: Mapping[str, DecidingReading]
) -> tuple[dict[str, DecidingReading], list[Finding]]:
    """Every worked-out slot whose inputs are all read, judged; and what could not be worked out (REA013)."""
    worked: dict[str, DecidingReading] = {}
    findings: list[Finding] = []
    for spot in case.planned.worked:
        inputs = [rulings[name] for name in spot.slot.inputs if name in rulings]
        if spot.step is None or not inputs or len(inputs) < len(spot.slot.inputs):
            continue
        try:
            worked[spot.slot.id] = _worked(case, spot, spot.step, inputs)
        except Unreadable as problem:
            what = f"{spot.slot.label}: {problem.what}"
            findings.append(case.say("REA013", what, slot=spot.slot.id, hint=problem.hint))
    return worked, findings


def _worked(case: Case, spot: PlannedSlot, step: Step, inputs: Sequence[DecidingReading]) -> DecidingReading:
    how, limits = step.how, case.planned.limits.get(step.id)
    if how is None:
        raise Unreadable("WRK001", "the plan does not say how it is worked out")
    unit = limits.unit if limits is not None else None
    placed = [(case.planned.spots[given.slot].slot.position, given.value) for given in inputs]
    found = _worked_value(how, placed, unit)
    rule = rule_of(case, step)
    latest = max(given.seq or 0 for given in inputs)
    if limits is None:
        text = display_number(found.value.value, found.value.decimals)
        done = Weighed(SlotState.DONE, found.value, found.value, text)
        return DecidingReading(spot.slot.id, step, None, done, where=found.where, latest=latest)
    expanded = _uncertainty(how, placed, unit, inputs) if rule.decision == "guarded" else None
    weighed = weigh_quantity(limits, found.value, rule, expanded, TWO)
    weighed = weighed._replace(text=worked_text(weighed.value, limits))
    return DecidingReading(spot.slot.id, step, limits, weighed, where=found.where, latest=latest)


def worked_text(value: Quantity, limits: Limits) -> str:
    """The number for people: two decimals more than the limits have, since a computed one may never end.

    More are shown where rounding would carry it onto or over a bound, so that print and state agree.
    """
    needed = decimals_needed(value.value)
    if limits.fractions or (needed is not None and needed <= limits.decimals + _MORE):
        return value_text(value, limits)
    bounds = [bound for bound in (limits.lower, limits.upper) if bound is not None]
    for decimals in range(limits.decimals + _MORE, limits.decimals + _MOST):
        text = format_number(value.value, decimals)
        rounded = Fraction(text)
        if all(
            (rounded > bound, rounded < bound) == (value.value > bound, value.value < bound)
            for bound in bounds
        ):
            return text
    return exact_text(value.value)


def _worked_value(how: WorkOut, placed: Sequence[PositionedReading], unit: str | None) -> WorkedOut:
    return work_out(
        how.function, placed, along=how.along, options=how.options, coordinates=how.coordinates, unit=unit
    )


def _uncertainty(
    how: WorkOut, placed: Sequence[PositionedReading], unit: str | None, inputs: Sequence[DecidingReading]
) -> Quantity | None:
    """Expanded uncertainty (k = 2) of the worked-out value; None where that of a reading is not known."""
    shares: list[Fraction] = []
    symbol = ""
    for number, given in enumerate(inputs):
        if given.uncertainty is None:
            return None
        step = given.uncertainty.difference_to(given.value.unit).value / given.k
        high, low = (_worked_value(how, _moved(placed, number, by), unit).value for by in (step, -step))
        shares.append((high.value - low.value) / 2)
        symbol = high.unit
    combined = length(sum((share**2 for share in shares), Fraction(0)))
    return Quantity(2 * combined, symbol, "worked out", 0)


def _moved(placed: Sequence[PositionedReading], number: int, by: Fraction) -> list[PositionedReading]:
    moved = list(placed)
    position, read = moved[number]
    moved[number] = (position, Quantity(read.value + by, read.unit, read.written, read.decimals))
    return moved
