"""The reading that rules in each slot, judged: the last one done that can be understood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from traveler.definition.plan import SlotKind, Step
from traveler.measure.judge import Judgement, judge
from traveler.measure.limits import Limits
from traveler.measure.number import parse_number
from traveler.measure.quantity import Quantity, parse_quantity
from traveler.measure.unreadable import Unreadable
from traveler.record.entry import Entry, Read
from traveler.verdict.case import Case, Filled
from traveler.verdict.outcome import SlotState

_TWO = Fraction(2)
_PROBLEMS = {"DEC001": "REA011", "DEC002": "REA012"}
"""What the decision rule says against a judgement → the finding."""
_STATES = {"in": SlotState.IN, "out": SlotState.OUT, "doubtful": SlotState.DOUBTFUL}


@dataclass(frozen=True, slots=True)
class Garbled:
    """A reading that cannot be judged, and why (a code of the readings family)."""

    slot: str
    entry: Entry
    code: str
    what: str
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Ruling:
    """What stands in a slot. ``value`` is in the unit of the limits, ``written`` in its own unit."""

    slot: str
    step: Step
    limits: Limits | None
    state: SlotState
    value: Quantity
    written: Quantity
    entry: Entry | None = None
    """The entry it was read in; None for a worked-out value."""
    uncertainty: Quantity | None = None
    """Expanded uncertainty of its gauge on that day, with coverage factor ``k``."""
    k: Fraction = _TWO
    judgement: Judgement | None = None
    trouble: tuple[str, str] | None = None
    """Code and sentence where the decision rule cannot be applied."""
    where: str = ""
    """For a worked-out value: where it comes from, in words."""

    @property
    def seq(self) -> int | None:
        """The number of the entry it was read in."""
        return None if self.entry is None else self.entry.seq

    @property
    def body(self) -> Read | None:
        """What was read, for a reading."""
        return self.entry.body if self.entry is not None and isinstance(self.entry.body, Read) else None


@dataclass(frozen=True, slots=True)
class Judged:
    """All slots with readings: the ruling reading of each, and what could not be judged after it."""

    rulings: dict[str, Ruling]
    garbled: tuple[Garbled, ...]


def judge_readings(case: Case) -> Judged:
    """The ruling reading of every slot that is read, in the order of the plan's slots."""
    rulings: dict[str, Ruling] = {}
    garbled: list[Garbled] = []
    for slot, filled in case.filled.items():
        if filled.spot.slot.kind is not SlotKind.READING or filled.spot.step is None:
            continue
        ruling = _ruling(case, filled, filled.spot.step, garbled)
        if ruling is not None:
            rulings[slot] = ruling
    return Judged(rulings, tuple(garbled))


def _ruling(case: Case, filled: Filled, step: Step, garbled: list[Garbled]) -> Ruling | None:
    """The last understood reading as left; where there is none, the last one as found."""
    limits = case.planned.limits.get(step.id)
    for entry in _newest_first(filled.entries):
        understood = understand(filled.spot.slot.id, entry, limits)
        if isinstance(understood, Quantity):
            return _judged(case, filled.spot.slot.id, step, limits, entry, understood)
        garbled.append(understood)
    return None


def _newest_first(entries: Sequence[Entry]) -> Sequence[Entry]:
    if len(entries) == 1:
        return entries
    left = [one for one in entries if isinstance(one.body, Read) and not one.body.as_found]
    found = [one for one in entries if isinstance(one.body, Read) and one.body.as_found]
    return [*reversed(left), *reversed(found)]


def understand(slot: str, entry: Entry, limits: Limits | None) -> Quantity | Garbled:
    """The reading as a quantity, or why it is none (REA003 to REA005)."""
    body = entry.body
    if not isinstance(body, Read):
        return Garbled(slot, entry, "REA005", f"{body.kind} is no reading")
    if not body.unit:
        expected = f"; expected {limits.unit}" if limits is not None else ""
        return Garbled(
            slot, entry, "REA003", f"{body.written!r} has no unit{expected}", "read it again with its unit"
        )
    found = _understood(body.value, body.unit, limits.unit if limits is not None else None)
    if isinstance(found, Quantity):
        return found
    code, what, hint = found
    return Garbled(slot, entry, code, what, hint)


@lru_cache(maxsize=65536)
def _understood(value: str, unit: str, wanted: str | None) -> Quantity | tuple[str, str, str]:
    try:
        number = parse_number(value)
        read = (
            parse_quantity(f"{value} {unit}")
            if unit != wanted
            else Quantity(number[0], unit, value, number[1])
        )
    except Unreadable as problem:
        return "REA005", problem.what, problem.hint
    if wanted is None:
        return read
    try:
        read.to(wanted)
    except Unreadable:
        return (
            "REA004",
            f"{value} {unit} is read where {wanted} is expected",
            "read it again in the right unit",
        )
    return read


def _judged(case: Case, slot: str, step: Step, limits: Limits | None, entry: Entry, read: Quantity) -> Ruling:
    if limits is None:
        return Ruling(slot, step, None, SlotState.DONE, read, read, entry)
    uncertainty, k = _uncertainty(case, entry)
    return ruled(case, Ruling(slot, step, limits, SlotState.OPEN, read, read, entry, uncertainty, k))


def _uncertainty(case: Case, entry: Entry) -> tuple[Quantity | None, Fraction]:
    """Expanded uncertainty and k of the gauge on the day it was read with; None where not known."""
    body = entry.body
    gauge = case.gauges.get(body.gauge) if isinstance(body, Read) and body.gauge else None
    told = case.uncertainty(gauge, case.day(entry.at)) if gauge is not None else None
    if told is None:
        return None, _TWO
    return quantity_or_none(told[0]), positive(told[1], _TWO)


def ruled(case: Case, draft: Ruling, uncertainty: Quantity | None = None) -> Ruling:
    """The ruling with its state: the decision rule of the check, else of the shop, applied.

    ``uncertainty`` (k = 2) is that of a worked-out value; a reading has its own.
    """
    limits, settings = draft.limits, case.settings
    if limits is None:
        return draft
    rule = draft.step.rule or settings.decision_rule
    rounding = draft.step.rounding or settings.rounding
    if rule != "guarded" and rounding == "absolute":
        return _with(draft, judge(limits, draft.written))
    try:
        judgement = judge(
            limits,
            draft.written,
            uncertainty=uncertainty or draft.uncertainty,
            rule="guarded" if rule == "guarded" else "simple",
            guard_factor=positive(settings.guard_factor, Fraction(1)),
            rounding="rounding" if rounding == "rounding" else "absolute",
            k=draft.k,
        )
    except Unreadable as problem:
        return replace(
            _with(draft, judge(limits, draft.written, rule="guarded")), trouble=("REA012", problem.what)
        )
    return _with(draft, judgement)


def _with(draft: Ruling, judgement: Judgement) -> Ruling:
    problem = next(iter(judgement.problems), None)
    trouble = None if problem is None else (_PROBLEMS.get(problem.code, "REA012"), problem.what)
    return replace(
        draft, state=_STATES[judgement.state], value=judgement.reading, judgement=judgement, trouble=trouble
    )


@lru_cache(maxsize=4096)
def quantity_or_none(text: str) -> Quantity | None:
    """The quantity in a register's text; None where it cannot be read."""
    try:
        return parse_quantity(text)
    except Unreadable:
        return None


@lru_cache(maxsize=64)
def positive(text: str, otherwise: Fraction) -> Fraction:
    """The number in a setting or register; ``otherwise`` where it cannot be read or is not above zero."""
    try:
        value = parse_number(text)[0]
    except Unreadable:
        return otherwise
    return value if value > 0 else otherwise
