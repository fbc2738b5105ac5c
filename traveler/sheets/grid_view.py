"""Grids: a check that is repeated at positions, as tables of boxes, at most four boxes a row."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TypeVar

from traveler.definition.plan import Axis, Slot, Step
from traveler.sheets.boxes import Box, Form
from traveler.sheets.words import Words

ACROSS = 4
"""Boxes in a row: each is then wider than 24 mm."""
TALL = 14
"""Rows of boxes above which a check may run over a page; each table then repeats the limit."""

Item = TypeVar("Item")


@dataclass(frozen=True, slots=True)
class GridRow:
    """One row: its label, whether its boxes are for as-found readings, and a box (or None) per column."""

    label: str
    found: bool
    cells: tuple[Box | None, ...]


@dataclass(frozen=True, slots=True)
class GridView:
    """One table. ``caption`` names the position it stands for, if any, and repeats the limit where needed."""

    caption: str
    corner: str
    columns: tuple[str, ...]
    rows: tuple[GridRow, ...]
    blanks: tuple[int, ...] = ()
    """One entry for each column missing to a full row, so that columns stand under each other."""


def grids(step: Step, form: Form, say: Words, title: str, limit: str) -> tuple[GridView, ...]:
    """The tables of a repeated check. Three positions give a table for each value of the first."""
    boxes = {frozenset(slot.position): slot for slot in step.slots}
    *outer, across, down = (*step.axes, None) if len(step.axes) == 1 else step.axes
    tall = step_rows(step) > TALL
    made: list[GridView] = []
    for values in product(*(axis.values for axis in outer if axis)):
        place = tuple((axis.name, value) for axis, value in zip(outer, values, strict=True) if axis)
        for columns in chunks(across.values if across else (), ACROSS):
            rows = tuple(_rows(step, boxes, form, say, title, place, across, columns, down))
            caption = ", ".join(f"{name} {value}" for name, value in place)
            repeated = f"{step.text}: {limit}" if tall and made else ""
            corner = across.name if across else ""
            made.append(
                GridView(" · ".join(filter(None, (caption, repeated))), corner, columns, rows, _blanks(columns, across))
            )
    return tuple(made)


def step_rows(step: Step) -> int:
    """How many rows of boxes a check takes."""
    counts = [len(axis.values) for axis in step.axes]
    across = counts[-2] if len(counts) > 1 else counts[0]
    bands = -(-across // ACROSS)
    total = bands
    for count in (*counts[:-2], *(counts[-1:] if len(counts) > 1 else ())):
        total *= count
    return total * (2 if step.adjust else 1)


def chunks(values: Sequence[Item], size: int) -> Iterator[tuple[Item, ...]]:
    """The values in order, so many at a time."""
    for start in range(0, len(values), size):
        yield tuple(values[start : start + size])


def _blanks(columns: tuple[str, ...], across: Axis | None) -> tuple[int, ...]:
    if across is None or len(across.values) <= ACROSS:
        return ()
    return tuple(range(ACROSS - len(columns)))


def _rows(
    step: Step,
    boxes: dict[frozenset[tuple[str, str]], Slot],
    form: Form,
    say: Words,
    title: str,
    place: tuple[tuple[str, str], ...],
    across: Axis | None,
    columns: tuple[str, ...],
    down: Axis | None,
) -> Iterator[GridRow]:
    for value in down.values if down else ("",):
        row = (*place, (down.name, value)) if down else place
        slots = [boxes.get(frozenset((*row, (across.name, column)))) for column in columns] if across else []
        label = value if down else ""
        yield GridRow(label, False, tuple(_box(slot, form, title, say) for slot in slots))
        if step.adjust is not None:
            yield GridRow(say("as found"), True, tuple(_found(slot, form, title, say) for slot in slots))


def where(slot: Slot) -> str:
    """``spindle 3, end far``: the position of a slot in words."""
    return ", ".join(f"{name} {value}" for name, value in slot.position)


def _box(slot: Slot | None, form: Form, title: str, say: Words) -> Box | None:
    if slot is None:
        return None
    worked = slot.kind.value == "worked"
    note = f" ({say('worked out by the tool')})" if worked else ""
    return form.box(slot.id, f"{title}, {where(slot)}{note}", "reading", read_only=worked)


def _found(slot: Slot | None, form: Form, title: str, say: Words) -> Box | None:
    if slot is None:
        return None
    return form.box(f"{slot.id}#found", f"{title}, {where(slot)}, {say('as found')}", "found")
