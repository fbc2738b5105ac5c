"""View models of an operation and its steps.

Finished text and boxes, nothing left to decide in a template.
"""

from __future__ import annotations

from dataclasses import dataclass

from traveler.definition.plan import Caution
from traveler.sheets.boxes import Box
from traveler.sheets.grid_view import GridView
from traveler.sheets.limit_text import LimitView
from traveler.sheets.pictures import Picture


@dataclass(frozen=True, slots=True)
class Labelled:
    """A box and the word beside it.

    Without a box the word stands alone, ``end`` puts it at the right edge.
    """

    box: Box | None
    label: str = ""
    end: bool = False


WriteRow = tuple[Labelled, ...]
"""Boxes side by side in the grey column."""


@dataclass(frozen=True, slots=True)
class PackedView:
    """One line of the packing list with its tick box."""

    item: str
    number: str
    quantity: str
    mass: str
    box: Box | None


@dataclass(frozen=True, slots=True)
class StepView:
    """One step. ``write`` holds the rows of boxes for the grey column on the right."""

    id: str
    number: int
    text: str
    part: str = ""
    limits: LimitView | None = None
    details: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
    stop: bool = False
    picture: Picture | None = None
    write: tuple[WriteRow, ...] = ()
    grids: tuple[GridView, ...] = ()
    packing: tuple[PackedView, ...] = ()
    breaks: bool = False
    """Whether it may run over a page, between its tables."""


@dataclass(frozen=True, slots=True)
class SignView:
    """The line that closes an operation."""

    text: str
    role: str
    sign: Box
    when: Box


@dataclass(frozen=True, slots=True)
class OperationView:
    """One operation. ``continued`` heads the pages it runs over to."""

    number: str
    title: str
    place: str
    continued: str
    cautions: tuple[Caution, ...]
    steps: tuple[StepView, ...]
    sign: SignView | None
