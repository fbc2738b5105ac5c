"""Findings about readings: against their limits, as written, and as a set (REA001 to REA015)."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from traveler.definition.plan import SlotKind
from traveler.finding import Finding
from traveler.measure.limits import Limits
from traveler.measure.number import shown
from traveler.measure.quantity import Quantity
from traveler.measure.units import same_dimension
from traveler.record.entry import Confirmed, Read
from traveler.verdict.case import Case
from traveler.verdict.judging import Judged, Ruling
from traveler.verdict.outcome import SlotState
from traveler.verdict.packing import is_gross_mass

FAR = 10
"""So many tolerance widths outside the limits no real deviation lies: the unit or the point is wrong."""

LIKELY_UNITS = (
    *("mm", "in", "mil", "µm", "cm", "m"),
    *("N·m", "lbf·ft", "lbf·in"),
    *("N", "kN", "lbf", "kgf"),
    *("kg", "g", "lb"),
    *("°C", "°F", "deg", "rad"),
)
"""Units a person may have had in mind, tried in this order."""


def check_limits(case: Case, judged: Judged) -> Iterator[Finding]:
    """Out of tolerance, in the guard band, implausible, and where the rule cannot be applied."""
    for ruling in judged.rulings.values():
        if ruling.state in (SlotState.OUT, SlotState.DOUBTFUL):
            yield from _against_limits(case, ruling)
        elif ruling.value.value.numerator < 0 and _absurd(ruling):
            what = (
                f"{_as_read(ruling)} lies more than {FAR} times as far below zero as {_wanted(ruling)} above"
            )
            hint = "look at the sign, the unit and the decimal point"
            yield case.say("REA006", what, slot=ruling.slot, entry=ruling.seq, hint=hint)
    for step, problem in case.planned.unreadable.items():
        yield case.say("REA015", f"limits of {step}: {problem.what}", slot=step, hint=problem.hint)


def _absurd(ruling: Ruling) -> bool:
    """Whether a value is inside only because its limits have no lower bound."""
    limits = ruling.limits
    if limits is None or limits.lower is not None or limits.upper is None or limits.upper <= 0:
        return False
    return -ruling.value.value > FAR * limits.upper


def _against_limits(case: Case, ruling: Ruling) -> Iterator[Finding]:
    stop = case.concession(ruling.slot, ruling.seq or ruling.latest)
    if stop is not None and stop.decision is not None:
        what = f"{ruling.value} against {_wanted(ruling)}, used as is under {stop.decision.concession}"
        yield case.say("NON006", what, slot=ruling.slot, entry=ruling.seq)
        return
    if ruling.weighed.trouble is not None:
        code, what = ruling.weighed.trouble
        hint = "enter the gauge's uncertainty in gauges.yaml" if code == "REA012" else "use a better gauge"
        yield case.say(code, what, slot=ruling.slot, entry=ruling.seq, hint=hint)
    if ruling.state is SlotState.OUT:
        yield from _out(case, ruling)
    elif ruling.state is SlotState.DOUBTFUL and ruling.weighed.trouble is None:
        yield _doubtful(case, ruling)


def _out(case: Case, ruling: Ruling) -> Iterator[Finding]:
    limits = ruling.limits
    if limits is None or is_gross_mass(case.plan, ruling.step):
        return
    excess = excess_of(limits, ruling.value.value)
    side = "over" if excess > 0 else "under"
    distance = f"{amount(limits, abs(excess))} {limits.unit} {side}"
    hint = ruling.step.adjust.text if ruling.step.adjust is not None else ""
    what = f"{_as_read(ruling)} against {_wanted(ruling)}: {distance}"
    yield case.say(
        "REA001", what, slot=ruling.slot, entry=ruling.seq, hint=hint or "adjust and read again, or stop it"
    )
    width = scale_of(limits)
    if width and abs(excess) > FAR * width:
        times = round(abs(excess) / width)
        what = f"{_as_read(ruling)} lies {times} tolerance widths outside {_wanted(ruling)}"
        yield case.say(
            "REA006", what, slot=ruling.slot, entry=ruling.seq, hint=_likely(ruling.written, limits)
        )


def amount(limits: Limits, value: Fraction) -> str:
    """A number in the unit of the limits, as printed beside them; what no decimal writes is rounded."""
    return limits.number(value) if limits.fractions else shown(value, limits.decimals)


def scale_of(limits: Limits) -> Fraction:
    """What a deviation is compared with: the width of the tolerance, or the size of the only bound."""
    bound = limits.upper if limits.upper is not None else limits.lower
    return limits.width if limits.width is not None else abs(bound or Fraction(0))


def excess_of(limits: Limits, value: Fraction) -> Fraction:
    """How far a value lies above the upper limit, or (negative) below the lower one; 0 inside."""
    if limits.upper is not None and value > limits.upper:
        return value - limits.upper
    if limits.lower is not None and value < limits.lower:
        return value - limits.lower
    return Fraction(0)


def _doubtful(case: Case, ruling: Ruling) -> Finding:
    zone = ruling.weighed.acceptance
    what = f"{ruling.value} is inside {_wanted(ruling)} but not inside the acceptance limits {zone}"
    return case.say(
        "REA002", what, slot=ruling.slot, entry=ruling.seq, hint="adjust, or measure with a better gauge"
    )


def _as_read(ruling: Ruling) -> str:
    """The value, and what was written where it was written in another unit."""
    if ruling.body is None or ruling.written.unit == ruling.value.unit:
        return str(ruling.value)
    return f"{ruling.value} (written {ruling.body.written})"


def _wanted(ruling: Ruling) -> str:
    return ruling.limits.describe() if ruling.limits is not None else "no limits"


def _likely(read: Quantity, limits: Limits) -> str:
    """The unit or shift of the point with which the number would be inside."""
    for unit in LIKELY_UNITS:
        if unit != read.unit and same_dimension(unit, limits.unit):
            value = Quantity(read.value, unit, read.written, read.decimals).to(limits.unit).value
            if not excess_of(limits, value):
                return f"was it {shown(read.value, read.decimals)} {unit}?"
    for shift in (10, 100, 1000):
        if not excess_of(limits, read.to(limits.unit).value / shift):
            near = f"{shown(read.value / shift, read.decimals)} {read.unit}"
            return f"is the decimal point in its place? {near} would be inside"
    return "look at the unit and the decimal point"


def check_unreadable(case: Case, judged: Judged) -> Iterator[Finding]:
    """Readings after the ruling one that cannot be judged: no unit, another dimension, no number."""
    for one in judged.garbled:
        yield case.say(
            one.code, one.what, slot=one.slot, entry=one.entry.seq, hint=one.hint or "strike it, read again"
        )


def check_adjusted(case: Case) -> Iterator[Finding]:
    """Adjustments before which nothing was read."""
    for entry in case.of_kind("adjusted"):
        if entry.slot is None:
            continue
        filled = case.filled.get(entry.slot)
        before = any((one.at, one.seq) < (entry.at, entry.seq) for one in filled.entries) if filled else False
        found = (
            any(isinstance(one.body, Read) and one.body.as_found for one in filled.entries)
            if filled
            else False
        )
        if not before and not found:
            what = f"adjusted by {entry.by} without a reading as found"
            yield case.say("REA010", what, slot=entry.slot, entry=entry.seq, hint="read before you adjust")


def check_confirmed(case: Case) -> Iterator[Finding]:
    """Statements that were confirmed as not so."""
    for slot, filled in case.filled_of(SlotKind.CONFIRM):
        body = filled.last.body
        if not isinstance(body, Confirmed) or body.yes:
            continue
        stop = case.concession(slot, filled.last.seq)
        if stop is not None and stop.decision is not None:
            what = f"not so, and used as is under {stop.decision.concession}: {filled.spot.slot.label}"
            yield case.say("NON006", what, slot=slot, entry=filled.last.seq)
        else:
            what = f"{filled.last.by} found this not so: {filled.spot.slot.label}"
            hint = "put it right and confirm again, or stop the unit"
            yield case.say("REA014", what, slot=slot, entry=filled.last.seq, hint=hint)
