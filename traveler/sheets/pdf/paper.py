"""Sizes of paper, and where the marks that every page carries stand. Millimeters from the top left corner.

The style sheets get these numbers as CSS variables, so a place is written down once.
"""

from __future__ import annotations

from dataclasses import dataclass

EDGE = 6.0
"""Between the edge of the paper and the corner marks; office printers leave 4.2 mm blank."""
CORNER = 7.0
"""Side of a corner mark."""
QR_SIDE = 20.0
"""Side of the QR symbol without its quiet zone."""
QR_GAP = 3.0
"""White between the QR symbol and the corner mark: more than four modules of 20/33 mm."""
MARGIN = 16.0
"""Left and right margin of the text."""
HEAD = 36.0
"""Top of the text: head, its rule, and the line of a continued operation."""
FOOT = 19.0
"""Bottom margin of the text."""
RAIL, STEP_NUMBER, GRID_LABEL = 15.0, 12.5, 23.5
"""Columns before the text: number rail, step number with the rule before it, row labels of a grid."""
POINTS_PER_MM = 72 / 25.4


@dataclass(frozen=True, slots=True)
class Square:
    """A square: left, top and side in millimeters from the top left corner of the page."""

    left: float
    top: float
    side: float

    def points(self, paper: Paper) -> tuple[float, float, float]:
        """Left, bottom and side in points from the bottom left corner, as PDF counts."""
        bottom = paper.height - self.top - self.side
        return self.left * POINTS_PER_MM, bottom * POINTS_PER_MM, self.side * POINTS_PER_MM


@dataclass(frozen=True, slots=True)
class Paper:
    """One size of paper; ``css`` is its size for ``@page``."""

    name: str
    width: float
    height: float

    @property
    def css(self) -> str:
        """Width and height for a style sheet."""
        return f"{self.width}mm {self.height}mm"

    @property
    def text_width(self) -> float:
        """Between the margins."""
        return round(self.width - 2 * MARGIN, 3)

    @property
    def body_width(self) -> float:
        """Right of the number rail."""
        return round(self.text_width - RAIL, 3)

    @property
    def grid_widths(self) -> dict[int, float]:
        """Boxes in a row of a grid → width of the whole table."""
        cell = (self.body_width - STEP_NUMBER - GRID_LABEL) / 4
        return {count: round(GRID_LABEL + count * cell, 2) for count in range(1, 5)}

    @property
    def values_widths(self) -> dict[int, float]:
        """Values in a row of a certificate's table → width of the whole table."""
        return {count: 30.0 + 18.0 * count for count in range(1, 9)}

    @property
    def step_width(self) -> float:
        """Right of the step numbers."""
        return round(self.body_width - STEP_NUMBER, 3)

    def corners(self) -> tuple[Square, Square, Square, Square]:
        """The corner marks: top left, top right, bottom right, bottom left."""
        right, low = self.width - EDGE - CORNER, self.height - EDGE - CORNER
        places = ((EDGE, EDGE), (right, EDGE), (right, low), (EDGE, low))
        first, two, three, four = (Square(left, top, CORNER) for left, top in places)
        return first, two, three, four

    def qr(self) -> Square:
        """The QR symbol in the head of a page."""
        return Square(self.width - EDGE - CORNER - QR_GAP - QR_SIDE, EDGE, QR_SIDE)


A4 = Paper("A4", 210.0, 297.0)
LETTER = Paper("Letter", 215.9, 279.4)
PAPERS = {paper.name: paper for paper in (A4, LETTER)}
UNIT_LABEL = Paper("unit label", 50.0, 25.0)
CRATE_LABEL = Paper("crate label", 100.0, 150.0)
CRATE_LABEL_INCH = Paper("crate label 4 × 6 in", 101.6, 152.4)
