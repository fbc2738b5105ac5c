"""What a customer read on arrival, compared with the values the unit was shipped with."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from traveler.definition.plan import Plan, Slot, SlotKind, Step, where_key
from traveler.finding import Finding, Place
from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import Unreadable, display_number, exact_text
from traveler.measure.quantity import Quantity, parse_quantity
from traveler.record.entry import Arrived
from traveler.text import did_you_mean
from traveler.trace.stats.numbers import exact_root, to_digits
from traveler.verdict.judge import Judged
from traveler.verdict.rows import ReadingRow, quantity_or_none


@dataclass(frozen=True, slots=True)
class ArrivalValue:
    """One check as shipped and as found. All numbers are exact and in the unit of the limits.

    ``ours`` and ``theirs`` are expanded uncertainties with k = 2, None where not known. ``shipped`` is None
    where nothing stands in the slot.
    """

    slot: str
    label: str
    unit: str
    decimals: int
    limits: Limits | None
    shipped: Fraction | None
    found: Fraction
    ours: Fraction | None = None
    theirs: Fraction | None = None

    @property
    def change(self) -> Fraction | None:
        """Found less shipped."""
        return None if self.shipped is None else self.found - self.shipped

    @property
    def squared(self) -> Fraction | None:
        """The square of the expanded uncertainty of the change; None where ours is not known."""
        if self.ours is None:
            return None
        theirs = self.ours if self.theirs is None else self.theirs
        return self.ours**2 + theirs**2

    @property
    def changed(self) -> bool | None:
        """Whether it changed by more than the uncertainty explains; None where that is not known."""
        if self.change is None or self.squared is None:
            return None
        return self.change**2 > self.squared

    @property
    def inside(self) -> bool | None:
        """Whether the value found is inside the limits of the check; None where it has none."""
        return None if self.limits is None else not self.excess

    @property
    def excess(self) -> Fraction:
        """How far the value found lies above the upper limit, or (negative) below the lower one."""
        return self.limits.excess(self.found) if self.limits else Fraction(0)

    @property
    def sentence(self) -> str:
        """All of it in plain words."""
        return f"{self.label}: {'; '.join(part for part in (self._change(), self._limits()) if part)}."

    def _change(self) -> str:
        found = f"{self._number(self.found)} {self.unit}"
        if self.shipped is None or self.change is None:
            return f"found {found}; the value at shipping is not recorded"
        if not self.change:
            return f"found {found}, as shipped"
        sign = "+" if self.change > 0 else "−"
        by = f"changed by {sign}{self._number(abs(self.change))} {self.unit} since shipping"
        return f"{by} ({self._number(self.shipped)} → {found}), {self._doubt()}"

    def _doubt(self) -> str:
        if self.squared is None:
            return "and the uncertainty of the gauges is not known"
        most = f"± {display_number(Fraction(to_digits(exact_root(self.squared), 2)), 0)} {self.unit}"
        taken = "" if self.theirs is not None else ", assuming the customer's gauge is as good as ours"
        if self.changed:
            return f"more than gauge uncertainty explains ({most}{taken})"
        return f"which gauge uncertainty alone explains ({most}{taken})"

    def _limits(self) -> str:
        if self.limits is None:
            return ""
        if not self.excess:
            return f"within {self.limits.text}"
        side = "over" if self.excess > 0 else "under"
        return f"outside {self.limits.text} by {self._number(abs(self.excess))} {self.unit} ({side})"

    def _number(self, value: Fraction) -> str:
        return display_number(value, self.decimals)

    def as_dict(self) -> dict[str, object]:
        """For ``--json``: numbers as exact text."""

        def text(value: Fraction | None) -> str | None:
            return None if value is None else exact_text(value, self.decimals)

        return {
            "slot": self.slot,
            "label": self.label,
            "unit": self.unit,
            "limits": self.limits.text if self.limits else None,
            "shipped": text(self.shipped),
            "found": text(self.found),
            "change": text(self.change),
            "uncertainty_shipped": text(self.ours),
            "uncertainty_found": text(self.theirs),
            "changed": self.changed,
            "inside": self.inside,
            "sentence": self.sentence,
        }


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
        known = [step.check for step in plan.steps() if step.check]
        return f"there is no check {name!r} on this unit; {did_you_mean(name, known)}"
    wanted = {pair.strip() for pair in where.split(",") if pair.strip()}
    fits = [slot for slot in step.slots if wanted <= {f"{axis}={value}" for axis, value in slot.position}]
    if len(fits) == 1:
        return fits[0]
    places = ", ".join(f"{name}/{where_key(slot.position)}" for slot in step.slots[:4])
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
    rows = judged.verdict.readings
    known = (reading for reading in readings if reading.slot in judged.plan.step_of)
    return tuple(_beside(reading, judged.plan, rows.get(reading.slot)) for reading in known)


def _beside(first: Arrived, plan: Plan, row: ReadingRow | None) -> ArrivalValue:
    slot, step = plan.by_slot[first.slot], plan.step_of[first.slot]
    limits = _limits(step)
    found = parse_quantity(f"{first.value} {first.unit}" if first.unit else first.value, first.unit or "1")
    unit = limits.unit if limits is not None else found.unit
    there = found.to(unit)
    theirs = None
    if first.uncertainty is not None:
        theirs = parse_quantity(first.uncertainty, found.unit).difference_to(unit).value
    return ArrivalValue(
        slot=first.slot,
        label=", ".join(part for part in (step.text.rstrip("."), slot.position_text) if part),
        unit=unit,
        decimals=max(limits.decimals if limits else 0, found.decimals),
        limits=limits,
        shipped=row.value.to(unit).value if row is not None else None,
        found=there.value,
        ours=_ours(row, unit),
        theirs=theirs,
    )


def _limits(step: Step) -> Limits | None:
    try:
        return parse_limits(step.limits.text) if step.limits is not None else None
    except Unreadable:
        return None


def _ours(row: ReadingRow | None, unit: str) -> Fraction | None:
    """Our expanded uncertainty with k = 2; None where the register does not tell it."""
    if row is None or row.known.uncertainty is None:
        return None
    expanded = quantity_or_none(row.known.uncertainty)
    return None if expanded is None else expanded.difference_to(unit).value * 2 / row.k
