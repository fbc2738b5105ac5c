"""Each reading of a unit as it is shown: in its limits, as found and as left, among its neighbors."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from traveler.definition.plan import Plan, Slot, SlotKind, Step
from traveler.measure.limits import Limits
from traveler.measure.number import display_number, exact_text, format_number
from traveler.record.entry import Read
from traveler.trace.factors import limit_zones
from traveler.verdict.case import Case
from traveler.verdict.judge import Verdict
from traveler.verdict.rows import ReadingRow, value_in_unit

Key = tuple[str, tuple[tuple[str, str], ...], str]
"""What makes two readings comparable: the check, the position, the limits as written."""

ENOUGH = 10
"""Neighbors from which on a place among them says something (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Neighbour:
    """The same reading on another unit, in the unit of the limits."""

    serial: str
    value: Fraction


@dataclass(frozen=True, slots=True)
class ReadingShown:
    """One reading that stands, exact, in the unit of its limits.

    ``found`` are earlier values of the slot in the order of the work; the bool says it was read before an
    adjustment. ``before`` and ``after`` are the same reading on units issued earlier and later.
    """

    slot: str
    check: str
    title: str
    where: str
    step: str
    operation: str
    limits: Limits | None
    accept: Limits | None
    value: Fraction
    unit: str
    decimals: int
    state: str
    seq: int | None
    by: str
    day: str
    gauge: str
    found: tuple[tuple[Fraction, bool], ...] = ()
    before: tuple[Neighbour, ...] = ()
    after: tuple[Neighbour, ...] = ()
    conceded: bool = False
    worked: bool = False

    @property
    def name(self) -> str:
        """``Spindle run-out (TIR), spindle 3, end far``."""
        return f"{self.title}, {self.where}" if self.where else self.title

    @property
    def text(self) -> str:
        """Number and unit as printed."""
        return f"{self.number(self.value)} {self.unit}"

    def number(self, value: Fraction) -> str:
        """A number with the decimals of the limits, more where it has them; worked-out ones are rounded."""
        text = (
            format_number(value, self.decimals + 1) if self.worked else display_number(value, self.decimals)
        )
        return text.replace("-", "−")

    @property
    def zones(self) -> tuple[str, ...]:
        """How near it is to a limit, in the words of :mod:`traveler.trace.factors`."""
        return limit_zones(self.value, self.limits) if self.limits is not None else ()

    @property
    def near(self) -> bool:
        """Whether it lies in the last tenth before a limit, or beyond it."""
        return any(zone.endswith("tenth") or zone.startswith("beyond") for zone in self.zones)

    @property
    def outside(self) -> Fraction:
        """How far toward the nearer limit: 0 in the middle of the tolerance, 1 at the limit, more beyond."""
        limits = self.limits
        if limits is None or not limits.span:
            return Fraction(0)
        return 1 - limits.margin(self.value) / (limits.span / 2 if limits.width else limits.span)

    @property
    def adjusted(self) -> Fraction | None:
        """What was read before the adjustment; None where there was none."""
        return next((value for value, as_found in reversed(self.found) if as_found), None)

    @property
    def others(self) -> tuple[Fraction, ...]:
        """The values of all neighbors."""
        return tuple(neighbour.value for neighbour in (*self.before, *self.after))

    @property
    def place(self) -> str:
        """Where it lies among its neighbors, in words; empty where there are none."""
        others = self.others
        if not others:
            return ""
        lower = sum(other < self.value for other in others)
        higher = sum(other > self.value for other in others)
        count = len(others)
        units = "other unit" if count == 1 else "other units"
        if lower >= higher:
            return f"higher than {lower} of {count} {units}"
        return f"lower than {higher} of {count} {units}"

    @property
    def extreme(self) -> bool:
        """Whether, among enough neighbors, none lies further to its side."""
        others = self.others
        if len(others) < ENOUGH:
            return False
        return all(other < self.value for other in others) or all(other > self.value for other in others)

    def as_dict(self) -> dict[str, object]:
        """For JSON: numbers as exact text."""

        def text(value: Fraction | None) -> str | None:
            return None if value is None else exact_text(value, self.decimals)

        def bounds(limits: Limits | None) -> dict[str, object] | None:
            if limits is None:
                return None
            return {"text": limits.text, "lower": text(limits.lower), "upper": text(limits.upper)}

        return {
            "slot": self.slot, "check": self.check, "title": self.title, "where": self.where,
            "limits": bounds(self.limits), "acceptance": bounds(self.accept),
            "value": text(self.value), "unit": self.unit, "state": self.state,
            "entry": self.seq, "by": self.by, "day": self.day, "gauge": self.gauge,
            "worked_out": self.worked, "conceded": self.conceded, "zones": list(self.zones),
            "earlier": [{"value": text(value), "as_found": as_found} for value, as_found in self.found],
            "before": [{"serial": neighbour.serial,
            "value": text(neighbour.value)} for neighbour in self.before],
            "after": [{"serial": neighbour.serial,
            "value": text(neighbour.value)} for neighbour in self.after],
            "place": self.place,
        }  # fmt: skip


def readings_shown(
    case: Case, verdict: Verdict, near: Mapping[Key, tuple[Sequence[Neighbour], Sequence[Neighbour]]]
) -> tuple[ReadingShown, ...]:
    """Every reading and worked-out value that stands, in the order of the work."""
    return tuple(_shown(case, verdict, row, near) for row in verdict.readings.values())


def _shown(
    case: Case,
    verdict: Verdict,
    row: ReadingRow,
    near: Mapping[Key, tuple[Sequence[Neighbour], Sequence[Neighbour]]],
) -> ReadingShown:
    limits, slot = row.limits, row.planned.slot
    before, after = near.get(key_of(row.step, slot), ((), ()))
    return ReadingShown(
        slot=row.slot,
        check=row.check,
        title=row.title,
        where=row.position,
        step=row.step.id,
        operation=row.operation,
        limits=limits,
        accept=row.acceptance,
        value=row.value.value,
        unit=row.unit,
        decimals=max(limits.decimals if limits else 0, 0 if row.worked else row.value.decimals),
        state=str(verdict.slots[row.slot].state),
        seq=row.seq,
        by="" if row.worked else row.by,
        day="" if row.worked else str(case.day_of(row.entry)),
        gauge="" if row.worked else row.gauge or "",
        found=tuple(_earlier(case, row)),
        before=tuple(before),
        after=tuple(after),
        conceded=case.concession(row.slot, row.latest) is not None,
        worked=row.worked,
    )


def _earlier(case: Case, row: ReadingRow) -> Iterator[tuple[Fraction, bool]]:
    filled = case.filled.get(row.slot)
    for entry in filled.entries if filled is not None else ():
        body = entry.body
        if entry.seq == row.seq or not isinstance(body, Read):
            continue
        value = value_in_unit(body.value, body.unit, row.limits.text if row.limits else None)
        if value is not None:
            yield value, body.as_found


def key_of(step: Step, slot: Slot) -> Key:
    """What a reading is compared by."""
    return step.check or step.text, slot.position, step.limits.text if step.limits else ""


def keys_of(plan: Plan) -> Mapping[str, Key]:
    """Slot → what its reading is compared by."""
    return {
        slot.id: key_of(step, slot)
        for step in plan.steps()
        for slot in step.slots
        if slot.kind is SlotKind.READING
    }
