"""Grids: a check that is repeated at positions, as tables of boxes, at most four boxes a row."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import TypeVar

from traveler.definition.plan import Axis, Slot, SlotKind, Step, StepKind
from traveler.sheets.boxes import Box, Form, Shape
from traveler.sheets.words import Words

ACROSS = 4
"""Boxes in a row: each is then wider than 24 mm."""
TALL = 14
"""Rows of boxes above which a check may run over a page; each table then repeats the limit."""

TICKED = frozenset({SlotKind.TICK, SlotKind.CONFIRM, SlotKind.PHOTO, SlotKind.PACKED})

Item = TypeVar("Item")
Where = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class GridRow:
    """One row: its label, the unit its boxes are in, whether they are for as-found readings, a box (or None) a column."""

    label: str
    unit: str
    found: bool
    cells: tuple[Box | None, ...]


@dataclass(frozen=True, slots=True)
class GridView:
    """One table. ``caption`` names the position it stands for, if any, and repeats the limit where needed."""

    caption: str
    corner: str
    columns: tuple[str, ...]
    rows: tuple[GridRow, ...]
    worked: bool
    blanks: tuple[int, ...]
    """One entry for each column missing to a full row, so that columns stand under each other."""


@dataclass(frozen=True, slots=True)
class GridMaker:
    """Lays the slots of one repeated check out as tables. ``limit`` and ``unit`` are empty where there are none."""

    step: Step
    form: Form
    say: Words
    title: str
    limit: str = ""
    unit: str = ""

    def tables(self) -> tuple[GridView, ...]:
        """The tables. Three positions give a table for each value of the first, four for each pair, and so on."""
        *outer, across, down = self._axes()
        tall = step_rows(self.step) > TALL
        made: list[GridView] = []
        for values in product(*(axis.values for axis in outer)):
            place = tuple((axis.name, value) for axis, value in zip(outer, values, strict=True))
            for columns in chunks(across.values, ACROSS):
                caption = [f"{name} {value}" for name, value in place]
                if tall and made:
                    caption.append(" ".join(filter(None, (self.step.text, self.limit))))
                made.append(self._table(" · ".join(caption), place, across, columns, down))
        return tuple(made)

    def _axes(self) -> tuple[Axis, ...]:
        axes = self.step.axes
        return axes if len(axes) > 1 else (*axes, Axis(name="", values=("",)))

    def _table(self, caption: str, place: Where, across: Axis, columns: tuple[str, ...], down: Axis) -> GridView:
        rows: list[GridRow] = []
        for value in down.values:
            row = (*place, (down.name, value)) if down.name else place
            slots = [self._slot((*row, (across.name, column))) for column in columns]
            rows.append(GridRow(value, self.unit, False, tuple(self._box(slot) for slot in slots)))
            if self.step.adjust is not None and not self._worked:
                found = tuple(self._found(slot) for slot in slots)
                rows.append(GridRow(self.say("as found"), "", True, found))
        short = ACROSS - len(columns) if len(across.values) > ACROSS else 0
        return GridView(caption, across.name, columns, tuple(rows), self._worked, tuple(range(short)))

    @property
    def _worked(self) -> bool:
        return self.step.kind is StepKind.WORK_OUT

    def _slot(self, where: Where) -> Slot | None:
        return next((slot for slot in self.step.slots if set(slot.position) == set(where)), None)

    def _box(self, slot: Slot | None) -> Box | None:
        if slot is None:
            return None
        name = f"{self.title}, {position(slot)}"
        if self._worked:
            return self.form.box(slot.id, f"{name} ({self.say('worked out by the tool')})", "reading", read_only=True)
        shape: Shape = "tick" if slot.kind in TICKED else "reading"
        return self.form.box(slot.id, name, shape)

    def _found(self, slot: Slot | None) -> Box | None:
        if slot is None:
            return None
        return self.form.box(f"{slot.id}#found", f"{self.title}, {position(slot)}, {self.say('as found')}", "found")


def position(slot: Slot) -> str:
    """``spindle 3, end far``: the position of a slot in words."""
    return ", ".join(f"{name} {value}" for name, value in slot.position)


def step_rows(step: Step) -> int:
    """How many rows of boxes a repeated check takes."""
    *outer, last = (len(axis.values) for axis in step.axes)
    counts = [*outer[:-1], -(-outer[-1] // ACROSS), last] if outer else [-(-last // ACROSS)]
    return prod(counts) * (2 if step.adjust else 1)


def chunks(values: Sequence[Item], size: int) -> Iterator[tuple[Item, ...]]:
    """The values in order, so many at a time."""
    for start in range(0, len(values), size):
        yield tuple(values[start : start + size])
