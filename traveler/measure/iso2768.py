"""ISO 2768-1:1989 general tolerances: lengths, radii and chamfers, angles, in the classes f, m, c and v.

A size exactly on a step belongs to the lower one; the first step of lengths starts at 0.5 mm itself. Below
that, and above the tables, the standard asks for a tolerance at the nominal size: it is refused here.
"""

from __future__ import annotations

from bisect import bisect_left
from fractions import Fraction
from typing import Literal

from traveler.measure.number import shown
from traveler.measure.unreadable import Unreadable

Kind = Literal["linear", "radius or chamfer", "angle"]
_CLASSES = "fmcv"
_SMALLEST = Fraction(1, 2)

# upper end of the step: tolerances ± of classes f, m, c, v; "-": none
_LINEAR = """
3    0.05 0.1 0.2 -
6    0.05 0.1 0.3 0.5
30   0.1  0.2 0.5 1
120  0.15 0.3 0.8 1.5
400  0.2  0.5 1.2 2.5
1000 0.3  0.8 2   4
2000 0.5  1.2 3   6
4000 -    2   4   8
"""
_BROKEN_EDGES = """
3          0.2 0.2 0.4 0.4
6          0.5 0.5 1   1
1000000000 1   1   2   2
"""
_ANGLES = """
10         60 60 90 180
50         30 30 60 120
120        20 20 30 60
400        10 10 15 30
1000000000 5  5  10 20
"""
_Table = tuple[list[Fraction], list[list[Fraction | None]]]


def _table(text: str) -> _Table:
    rows = [line.split() for line in text.strip().splitlines()]
    cells = [[None if cell == "-" else Fraction(cell) for cell in row[1:]] for row in rows]
    return [Fraction(row[0]) for row in rows], cells


_TABLES: dict[Kind, _Table] = {
    "linear": _table(_LINEAR),
    "radius or chamfer": _table(_BROKEN_EDGES),
    "angle": _table(_ANGLES),
}


def tolerance(kind: Kind, size: Fraction, tolerance_class: str) -> Fraction:
    """The tolerance ± of a class, in mm; for angles in minutes of arc, by the shorter leg (Tables 1, 2, 3).

    ``size`` is the nominal size in mm; for angles the length of the shorter leg in mm.

    >>> tolerance("linear", Fraction(120), "m")
    Fraction(3, 10)

    Raises:
        Unreadable: LIM003 not a class, LIM005 size outside the table.
    """
    if len(tolerance_class) != 1 or tolerance_class not in _CLASSES:
        raise Unreadable("LIM003", f"{tolerance_class!r} is not a class of ISO 2768-1", "write f, m, c or v")
    ends, cells = _TABLES[kind]
    small = size <= 0 if kind == "angle" else size < _SMALLEST
    row = bisect_left(ends, size)
    found = None if small or row == len(ends) else cells[row][_CLASSES.index(tolerance_class)]
    if found is None:
        what = f"ISO 2768-1 class {tolerance_class} has no {kind} tolerance at {shown(size)} mm"
        raise Unreadable("LIM005", what, "write the tolerance as a number")
    return found
