"""Grids: a check that is repeated at positions, as tables of boxes, at most four boxes a row."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import TypeVar

from traveler.definition.plan import Axis, Slot, SlotKind, Step, StepKind
from traveler.sheets.views.boxes import Box, Form
from traveler.sheets.words import Words, position_name

ACROSS = 4
"""Boxes in a row: each is then wider than 24 mm."""
TALL = 7
"""Rows of boxes in one table above which a check may run over a page (the heads of further tables count as
rows); each further table then repeats the limit."""
TICKED = frozenset({SlotKind.TICK, SlotKind.CONFIRM, SlotKind.PHOTO, SlotKind.PACKED})

Item = TypeVar("Item")
Place = tuple[tuple[str, str], ...]
"""Positions with their values: ``(("spindle", "3"), ("end", "far"))``."""


@dataclass(frozen=True, slots=True)
class GridRow:
    """One row.

    Its label, the unit its boxes are in, whether they are for as-found readings, a box (or None) a
    column.
    """

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

    @property
    def across(self) -> int:
        """Boxes in a row, with the blanks."""
        return len(self.columns) + len(self.blanks)

    @property
    def spanned(self) -> int:
        """Columns in all, with the one of row labels."""
        return self.across + 1


@dataclass(frozen=True, slots=True)
class Band:
    """Some columns of a repeated check: rows of slots (None where a combination is not asked for).

    ``place`` are the positions all of it shares; ``short`` is how many columns are missing to a full row.
    """

    place: Place
    corner: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[Slot | None, ...]], ...]
    short: int

    def named(self, say: Words) -> str:
        """The positions that all of it shares, in words."""
        return place_text(self.place, say)


def bands(step: Step, across: int) -> Iterator[Band]:
    """A repeated check cut into tables at most so many columns wide.

    One position makes a row, two a table, three tables by the first, four tables by each pair of the
    first two.
    """
    axes = step.axes if len(step.axes) > 1 else (*step.axes, Axis(name="", values=("",)))
    *outer, over, down = axes
    slots = {frozenset(slot.position): slot for slot in step.slots}
    for values in product(*(axis.values for axis in outer)):
        place = tuple((axis.name, value) for axis, value in zip(outer, values, strict=True))
        for columns in chunks(over.values, across):
            rows = []
            for value in down.values:
                row = (*place, (down.name, value)) if down.name else place
                found = tuple(slots.get(frozenset((*row, (over.name, column)))) for column in columns)
                rows.append((value, found))
            short = across - len(columns) if len(over.values) > across else 0
            yield Band(place, over.name, columns, tuple(rows), short)


@dataclass(frozen=True, slots=True)
class GridMaker:
    """Lays the slots of one repeated check out as tables.

    ``limit`` and ``unit`` are empty where there are none.
    """

    step: Step
    form: Form
    say: Words
    title: str
    limit: str = ""
    unit: str = ""

    def tables(self) -> tuple[GridView, ...]:
        """The tables, in printing order."""
        repeats = runs_over(self.step)
        made: list[GridView] = []
        for band in bands(self.step, ACROSS):
            named = band.named(self.say)
            caption = [named] if named else []
            lines = len(band.rows) * (2 if self.step.adjust else 1)
            if repeats and (made or lines > TALL):
                caption.append(" ".join(filter(None, (self.step.text, self.limit))))
            made.append(self._table(" · ".join(caption), band))
        return tuple(made)

    def _table(self, caption: str, band: Band) -> GridView:
        rows: list[GridRow] = []
        for value, slots in band.rows:
            boxes = tuple(self._box(slot) for slot in slots)
            rows.append(GridRow(position_name(value, self.say), self.unit, False, boxes))
            if self.step.adjust is not None and not self._worked:
                rows.append(
                    GridRow(self.say("as found"), "", True, tuple(self._found(slot) for slot in slots))
                )
        return GridView(
            caption,
            position_name(band.corner, self.say),
            tuple(position_name(column, self.say) for column in band.columns),
            tuple(rows),
            self._worked,
            tuple(range(band.short)),
        )

    @property
    def _worked(self) -> bool:
        return self.step.kind is StepKind.WORK_OUT

    def _box(self, slot: Slot | None) -> Box | None:
        if slot is None:
            return None
        name = f"{self.title}, {position(slot, self.say)}"
        if self._worked:
            hint = self.say("calculated by the tool")
            return self.form.box(slot.id, f"{name} ({hint})", "reading", read_only=True)
        return self.form.box(slot.id, name, "tick" if slot.kind in TICKED else "reading")

    def _found(self, slot: Slot | None) -> Box | None:
        if slot is None:
            return None
        found = self.say("as found")
        return self.form.box(
            f"{slot.id}#found", f"{self.title}, {position(slot, self.say)}, {found}", "found"
        )


def position(slot: Slot, say: Words | None = None) -> str:
    """``spindle 3, end far``: the position of a slot in words; without ``say`` as the plan has them."""
    return slot.position_text if say is None else place_text(slot.position, say)


def place_text(place: Place, say: Words | None) -> str:
    """A combination of positions in words."""
    if say is None:
        return ", ".join(f"{name} {value}" for name, value in place)
    return ", ".join(f"{position_name(name, say)} {position_name(value, say)}" for name, value in place)


def step_rows(step: Step) -> int:
    """How many rows of boxes a repeated check takes."""
    *outer, last = (len(axis.values) for axis in step.axes)
    counts = [*outer[:-1], -(-outer[-1] // ACROSS), last] if outer else [-(-last // ACROSS)]
    return prod(counts) * (2 if step.adjust else 1)


def runs_over(step: Step) -> bool:
    """Whether a check has so many boxes that it may break between its tables."""
    return bool(step.axes) and step_rows(step) + step_tables(step) > TALL + 1


def step_tables(step: Step) -> int:
    """How many tables a repeated check takes; the head of each is as tall as a row."""
    *outer, _ = (len(axis.values) for axis in step.axes)
    return prod([*outer[:-1], -(-outer[-1] // ACROSS)]) if outer else -(-len(step.axes[0].values) // ACROSS)


def chunks(values: Sequence[Item], size: int) -> Iterator[tuple[Item, ...]]:
    """The values in order, so many at a time."""
    for start in range(0, len(values), size):
        yield tuple(values[start : start + size])
