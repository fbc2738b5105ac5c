"""Boxes: the places on a sheet where somebody writes, and what stands in them in a printed record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

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
    filled: FilledBox | None = None

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


Sign = Literal["out", "doubtful", "refused", "conceded", "late", "struck", "see", "plain"]
"""What a mark beside a box says; the style sheet draws each so that they differ in black and white."""

MOST: Mapping[Shape, int] = {
    "reading": 33, "found": 33, "gauge": 24, "initials": 24, "wide": 100, "sign": 36, "when": 36, "small": 8,
    "line": 500, "fact": 120, "tick": 4,
}  # fmt: skip
"""Characters that a box of a shape shows; a longer text is cut, and listed in full at the end of a record."""
LARGE: Mapping[Shape, int] = {
    "reading": 11, "found": 11, "gauge": 8, "initials": 5, "wide": 21, "sign": 11, "when": 12, "small": 4,
    "line": 500, "fact": 120, "tick": 4,
}  # fmt: skip
"""Characters up to which a line of a box is set large, so that it fits without a break."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A word beside a box."""

    word: str
    sign: Sign = "plain"


@dataclass(frozen=True, slots=True)
class FilledBox:
    """The content of a box: what was struck out, the lines that stand, a remark below, words beside it.

    ``tight``: a line is too long for large letters.
    """

    lines: tuple[str, ...] = ()
    struck: str = ""
    remark: str = ""
    marks: tuple[Mark, ...] = ()
    tight: bool = False


@dataclass(slots=True)
class FilledForm(Form):
    """Gives every box its content; the sheet has no form fields then."""

    contents: Mapping[str, FilledBox] = field(default_factory=dict)

    def box(self, name: str, title: str, shape: Shape, *, value: str = "", read_only: bool = False) -> Box:
        """The box of this name with what the record says in it."""
        made = Box(name, " ".join(title.split()), shape, 0, value, read_only)
        content = FilledBox((value,)) if value else self.contents.get(name, FilledBox())
        return replace(made, filled=fitting(content, shape))


def fitting(content: FilledBox, shape: Shape) -> FilledBox:
    """The content with every line as long as the box shows."""
    most, large = MOST[shape], LARGE[shape]
    lines = tuple(shortened(line, most) for line in content.lines)
    struck = shortened(content.struck, most)
    return replace(content, lines=lines, struck=struck, tight=max(map(len, (struck, *lines))) > large)


def shortened(text: str, most: int) -> str:
    """The text, or its beginning with an ellipsis."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"
