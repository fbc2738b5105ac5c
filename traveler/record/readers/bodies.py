"""From what is written in a slot to the body of an entry, by the slot's kind."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Literal

from traveler.definition.plan import Plan, Slot, SlotKind, Step
from traveler.finding import Finding, Weight
from traveler.measure.number import Unreadable, exact_text
from traveler.measure.quantity import Quantity, parse_quantity, same_dimension
from traveler.record.entry import (
    Body,
    Confirmed,
    Counted,
    Fitted,
    Packed,
    Photographed,
    Read,
    Signed,
    Ticked,
    Witnessed,
)
from traveler.record.readers.cells import Cell, ResultRow, say, tick

BodyRead = Body | Finding | None
"""A body, why there is none, or None where nothing is to be recorded."""

_COUNT = re.compile(r"([0-9]{1,9}) *([a-z]*)[ ,;/]*", re.IGNORECASE)
_SIMPLE: dict[SlotKind, Callable[[], Body]] = {
    SlotKind.TICK: Ticked, SlotKind.PACKED: Packed, SlotKind.SIGN: Signed, SlotKind.WITNESS: Witnessed,
}  # fmt: skip
SIGNED = (SlotKind.SIGN, SlotKind.WITNESS)
"""Kinds where the value may be the id of whoever signs."""


def read_body(row: ResultRow, value: Cell, slot: Slot, plan: Plan) -> BodyRead:
    """What the value of a row says in this slot.

    Findings: RES030 not a tick, RES031 reading not understood (codes NUM and UNT say why), RES032 of another
    dimension than the limits, RES033 unit given twice, RES034 counts not understood, RES035 worked out by the
    tool (warning).
    """
    if slot.kind is SlotKind.READING:
        return _reading(row, value, plan.step_of.get(slot.id))
    if slot.kind is SlotKind.PART:
        return _part(value, plan.step_of.get(slot.id))
    if slot.kind is SlotKind.COUNT:
        return _count(value)
    if slot.kind is SlotKind.WORKED:
        what = f"'{value.text[:40]}' is not taken over: this value is worked out by the tool"
        return say("RES035", value, what, "leave it blank", weight=Weight.WARNING)
    return _ticked(value, slot)


def _ticked(value: Cell, slot: Slot) -> BodyRead:
    yes = tick(value.text)
    if slot.kind is SlotKind.PHOTO and yes is not False:
        return Photographed(name=None if yes else value.text)
    if slot.kind is SlotKind.CONFIRM and yes is not None:
        return Confirmed(yes=yes)
    if slot.kind in SIGNED and yes is None:
        return _SIMPLE[slot.kind]()  # the value is the person; who it is, is settled by the caller
    if yes is None or slot.kind not in _SIMPLE:
        what = f"'{value.text[:40]}' is not a tick; {slot.label} asks for one"
        return say("RES030", value, what, "write yes or x, or leave it blank")
    return _SIMPLE[slot.kind]() if yes else None


def _reading(row: ResultRow, value: Cell, step: Step | None) -> BodyRead:
    printed = step.limits.unit if step and step.limits and row.printed_unit else None
    column = row.said.get("unit")
    try:
        quantity, came = _quantity(value, column, printed)
    except Unreadable as problem:
        return say("RES031", value, f"{problem.what} ({problem.code})", problem.hint)
    if column is not None and came == "written" and _other_unit(column.text, quantity):
        what = f"the reading says {quantity.unit}, the column unit says {column.text[:20]}"
        return say("RES033", value, what, "write the unit once")
    if step and step.limits and not same_dimension(quantity.unit, step.limits.unit):
        what = f"{value.text[:40]} in {quantity.unit}, but the limits are {step.limits.text}"
        return say("RES032", value, what, f"read it in {step.limits.unit}")
    gauge = row.said.get("gauge")
    return Read(
        written=value.text, value=exact_text(quantity.value, quantity.decimals), unit=quantity.unit,
        gauge=gauge.text.upper() if gauge else None, as_found=_as_found(row), unit_from=came,
    )  # fmt: skip


def _quantity(
    value: Cell, column: Cell | None, printed: str | None
) -> tuple[Quantity, Literal["written", "column", "sheet"]]:
    """The reading and where its unit came from: the value itself, else the column, else the sheet."""
    try:
        return parse_quantity(value.text), "written"
    except Unreadable as problem:
        given = column.text if column else printed
        if problem.code != "UNT001" or given is None:
            raise
        return parse_quantity(value.text, given), "column" if column else "sheet"


def _other_unit(column: str, quantity: Quantity) -> bool:
    try:
        return parse_quantity("1", column).unit != quantity.unit
    except Unreadable:
        return True


def _as_found(row: ResultRow) -> bool:
    said = row.said.get("as_found")
    return said is not None and tick(said.text) is True


def _part(value: Cell, step: Step | None) -> BodyRead:
    lot = step is not None and step.trace == "lot"
    return Fitted(
        trace="lot" if lot else "serial", value=value.text, number=step.part_number if step else None
    )


def _count(value: Cell) -> BodyRead:
    """``12``, ``12/1/0``, ``12 good, 1 rework, 0 scrap``."""
    names = ("good", "rework", "scrap")
    found = _COUNT.findall(value.text)
    counts = {(word.lower() or names[at % 3]): int(number) for at, (number, word) in enumerate(found)}
    whole = _COUNT.sub("", value.text).strip() == ""
    if not whole or not found or len(found) > 3 or len(counts) < len(found) or not set(counts) <= set(names):
        what = f"'{value.text[:40]}' is not a count of pieces"
        return say("RES034", value, what, "write it like '12 good, 1 rework, 0 scrap'")
    if "good" not in counts:
        return say("RES034", value, "the number of good pieces is missing", "write 0 good if there are none")
    return Counted(good=counts["good"], rework=counts.get("rework", 0), scrap=counts.get("scrap", 0))
