"""Boxes: the places on a sheet where somebody writes, each a form field with a name of its own.

Names are slot ids, or ``SLOT#found``, ``STEP#gauge``, ``STEP#by``, ``OP/sign#at`` … (``docs/sheets.md``
lists them).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from traveler.sheets.filled import Filled

Shape = Literal[
    "tick", "reading", "found", "gauge", "initials", "wide", "sign", "when", "small", "line", "fact"
]


@dataclass(frozen=True, slots=True)
class Box:
    """One box. ``title`` is its tooltip; ``shape`` says how large it is drawn; ``limit`` is in characters.

    ``filled``: what the record says in it; then it is printed and no field.
    """

    name: str
    title: str
    shape: Shape
    limit: int = 0
    value: str = ""
    read_only: bool = False
    filled: Filled | None = None

    @property
    def tick(self) -> bool:
        """Whether it is ticked rather than written in."""
        return self.shape == "tick"


LIMITS: dict[Shape, int] = {
    "reading": 24,
    "found": 24,
    "gauge": 24,
    "initials": 24,
    "wide": 48,
    "sign": 24,
    "when": 25,
    "small": 8,
    "line": 120,
    "fact": 64,
}
"""Characters that fit a box of each shape."""


@dataclass(slots=True)
class Form:
    """The boxes of one sheet in the order of the work. A name used twice is one field shown in two places."""

    boxes: dict[str, Box] = field(default_factory=dict)

    def box(self, name: str, title: str, shape: Shape, *, value: str = "", read_only: bool = False) -> Box:
        """A box of this name, entered in the form."""
        made = Box(name, " ".join(title.split()), shape, LIMITS.get(shape, 0), value, read_only)
        self.boxes.setdefault(name, made)
        return made
