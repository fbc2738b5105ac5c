"""What a customer read on arrival, understood and set beside what the unit left with."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction

from traveler.definition.plan import Plan, Slot, SlotKind, Step
from traveler.finding import Finding, Place
from traveler.jobs.judged import Judged
from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import exact_text
from traveler.measure.quantity import Quantity, parse_quantity
from traveler.measure.unreadable import Unreadable
from traveler.record.entry import Arrived
from traveler.trace.arrival import ArrivalValue
from traveler.verdict.judging import Ruling, judge_readings
from traveler.verdict.weighing import quantity_or_none
from traveler.verdict.worked import work_out_slots

READ = frozenset({SlotKind.READING, SlotKind.WORKED})
_PLUS_MINUS = re.compile(r"±|\+/-|\+-")


@dataclass(frozen=True, slots=True)
class Answers:
    """What became of the customer's values: entries for the record, or findings about them."""

    readings: tuple[Arrived, ...] = ()
    findings: tuple[Finding, ...] = ()


def understand_arrival(judged: Judged, asked: Sequence[tuple[str, str]]) -> Answers:
    """Pairs (check or slot, reading) as values of this unit's slots.

    A check is named by its id, with its position where it is repeated (``runout/spindle=3,end=far``), or by
    its slot. A reading is written with its unit, and may say how good the customer's gauge is:
    ``0.071 mm ± 0.005 mm``. Findings: CAS004 no such check; CAS005 the reading is not understood.
    """
    readings, findings = [], []
    for check, text in asked:
        slot = find_slot(judged.plan, check)
        found = slot if isinstance(slot, str) else _understood(slot, judged.plan.step_of[slot.id], text)
        if isinstance(found, Arrived):
            readings.append(found)
        else:
            code = "CAS004" if isinstance(slot, str) else "CAS005"
            what, _, hint = found.partition("; ")
            findings.append(Finding(code, what, Place(unit=judged.unit.serial, slot=check), hint=hint))
    return Answers(tuple(readings), tuple(findings))


def find_slot(plan: Plan, asked: str) -> Slot | str:
    """The one slot that a check's id with its position, or a slot's id, names; else why there is none."""
    found = plan.by_slot.get(asked)
    if found is not None and found.kind in READ:
        return found
    name, _, where = asked.partition("/")
    step = plan.check(name)
    if step is None:
        known = [one.check for one in plan.steps() if one.check]
        close = get_close_matches(name, known, n=1)
        hint = f"did you mean {close[0]}?" if close else f"checks are {', '.join(known)}"
        return f"there is no check {name!r} on this unit; {hint}"
    wanted = {pair.strip() for pair in where.split(",") if pair.strip()}
    fits = [one for one in step.slots if wanted <= {f"{axis}={value}" for axis, value in one.position}]
    if len(fits) == 1:
        return fits[0]
    places = ", ".join(f"{name}/{','.join(f'{a}={v}' for a, v in one.position)}" for one in step.slots[:4])
    which = "is read at several places" if fits else f"is not read at {where!r}"
    return f"{name} {which}; write it as {places}{' …' if len(step.slots) > 4 else ''}"


def _understood(slot: Slot, step: Step, text: str) -> Arrived | str:
    number, *uncertain = (part.strip() for part in _PLUS_MINUS.split(text))
    unit = step.limits.unit if step.limits else None
    try:
        value = parse_quantity(number)
        if unit is not None:
            value.to(unit)
        doubt = _doubt(uncertain, value) if uncertain else None
    except Unreadable as problem:
        return f"{problem.what}; {problem.hint}" if problem.hint else problem.what
    return Arrived(
        slot=slot.id,
        written=text.strip(),
        value=exact_text(value.value, value.decimals),
        unit=value.unit,
        uncertainty=doubt,
    )


def _doubt(uncertain: Sequence[str], value: Quantity) -> str:
    if len(uncertain) != 1:
        raise Unreadable("NUM001", "± stands there more than once", "write it as 0.071 mm ± 0.005 mm")
    doubt = parse_quantity(uncertain[0], value.unit).difference_to(value.unit)
    if doubt.value <= 0:
        raise Unreadable("NUM001", f"± {uncertain[0]} is not above zero", "leave it out if it is not known")
    return exact_text(doubt.value, doubt.decimals)


def compare_arrival(judged: Judged, readings: Sequence[Arrived]) -> tuple[ArrivalValue, ...]:
    """The customer's values beside those that stand in the record; slots the plan lacks are left out."""
    read = judge_readings(judged.case).rulings
    rulings = {**read, **work_out_slots(judged.case, read)[0]}
    known = (one for one in readings if one.slot in judged.plan.step_of)
    return tuple(_beside(one, judged.plan, rulings.get(one.slot)) for one in known)


def _beside(one: Arrived, plan: Plan, ruling: Ruling | None) -> ArrivalValue:
    slot, step = plan.by_slot[one.slot], plan.step_of[one.slot]
    limits = _limits(step)
    found = parse_quantity(f"{one.value} {one.unit}" if one.unit else one.value, one.unit or "1")
    unit = limits.unit if limits is not None else found.unit
    there = found.to(unit)
    theirs = None
    if one.uncertainty is not None:
        theirs = parse_quantity(one.uncertainty, found.unit).difference_to(unit).value
    return ArrivalValue(
        slot=one.slot,
        label=label(step, slot),
        unit=unit,
        decimals=max(limits.decimals if limits else 0, found.decimals),
        limits=limits,
        shipped=ruling.value.to(unit).value if ruling is not None else None,
        found=there.value,
        ours=_ours(ruling, unit),
        theirs=theirs,
    )


def label(step: Step, slot: Slot) -> str:
    """``Spindle run-out (TIR), spindle 3, end far``."""
    return ", ".join((step.text.rstrip("."), *(f"{axis} {value}" for axis, value in slot.position)))


def _limits(step: Step) -> Limits | None:
    try:
        return parse_limits(step.limits.text) if step.limits is not None else None
    except Unreadable:
        return None


def _ours(ruling: Ruling | None, unit: str) -> Fraction | None:
    """Our expanded uncertainty with k = 2; None where the register does not tell it."""
    if ruling is None or ruling.known.uncertainty is None:
        return None
    expanded = quantity_or_none(ruling.known.uncertainty)
    return None if expanded is None else expanded.difference_to(unit).value * 2 / ruling.k
