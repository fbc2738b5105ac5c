"""Tolerances of the standards: ISO 286 limits of size and fits, ISO 2768-1 general tolerances.

ISO 286-1:2010 (rules and Tables 1 to 5; ISO 286-2:2010 lists the results): nominal sizes up to 500 mm, grades
5 to 14, shafts d to s, holes D to S. Capital letters are holes, small letters are shafts. The tables are in
micrometers, with a column for each step of nominal sizes. They are the standard, not the formula behind them:
the tables are rounded, by up to 16 % in the smallest step.

ISO 2768-1:1989: lengths, radii and chamfers, angles, in the classes f, m, c and v. Below 0.5 mm and above the
tables the standard asks for a tolerance at the nominal size: it is refused here.

In both a size exactly on a step belongs to the lower one (over ... up to and including ...).
"""

from __future__ import annotations

import re
from bisect import bisect_left
from fractions import Fraction
from typing import Literal, NamedTuple

from traveler.measure.number import Unreadable, display_number

STEPS = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500)
"""Upper ends of the steps in mm; the first starts above 0."""

FINE_STEPS = (
    3, 6, 10, 18, 30, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315, 355, 400, 450, 500,
)  # fmt: skip
"""The finer steps of the deviations r and s."""

GRADES: dict[int, tuple[int, ...]] = {
    5: (4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23, 25, 27),
    6: (6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32, 36, 40),
    7: (10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52, 57, 63),
    8: (14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81, 89, 97),
    9: (25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130, 140, 155),
    10: (40, 48, 58, 70, 84, 100, 120, 140, 160, 185, 210, 230, 250),
    11: (60, 75, 90, 110, 130, 160, 190, 220, 250, 290, 320, 360, 400),
    12: (100, 120, 150, 180, 210, 250, 300, 350, 400, 460, 520, 570, 630),
    13: (140, 180, 220, 270, 330, 390, 460, 540, 630, 720, 810, 890, 970),
    14: (250, 300, 360, 430, 520, 620, 740, 870, 1000, 1150, 1300, 1400, 1550),
}
"""Standard tolerance grades IT5 to IT14 (Table 1)."""

SHAFTS: dict[str, tuple[int, ...]] = {
    "d": (-20, -30, -40, -50, -65, -80, -100, -120, -145, -170, -190, -210, -230),
    "e": (-14, -20, -25, -32, -40, -50, -60, -72, -85, -100, -110, -125, -135),
    "f": (-6, -10, -13, -16, -20, -25, -30, -36, -43, -50, -56, -62, -68),
    "g": (-2, -4, -5, -6, -7, -9, -10, -12, -14, -15, -17, -18, -20),
    "h": (0,) * 13,
    "k": (0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 5),
    "m": (2, 4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23),
    "n": (4, 8, 10, 12, 15, 17, 20, 23, 27, 31, 34, 37, 40),
    "p": (6, 12, 15, 18, 22, 26, 32, 37, 43, 50, 56, 62, 68),
    "r": (
        10, 15, 19, 23, 28, 34, 41, 43, 51, 54, 63, 65, 68, 77, 80, 84, 94, 98, 108, 114, 126, 132,
    ),
    "s": (
        14, 19, 23, 28, 35, 43, 53, 59, 71, 79, 92, 100, 108, 122, 130, 140, 158, 170, 190, 208, 232, 252,
    ),
}  # fmt: skip
"""Fundamental deviations of shafts (Tables 4 and 5): the upper one for d to h, the lower one for k to s.

r and s go by ``FINE_STEPS``. That of k holds for grades 4 to 7; in other grades it is 0.
"""

HOLE_DELTA: dict[int, tuple[int, ...]] = {
    5: (0, 1, 2, 3, 3, 4, 5, 5, 6, 6, 7, 7, 7),
    6: (0, 3, 3, 3, 4, 5, 6, 7, 7, 9, 9, 11, 13),
    7: (0, 4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23),
    8: (0, 6, 7, 9, 12, 14, 16, 19, 23, 26, 29, 32, 34),
}
"""The addition Δ to the deviations of holes K to S (Table 3): IT(n) - IT(n-1), 0 up to 3 mm."""

HOLES = ("D", "E", "F", "G", "H", "JS", "K", "M", "N", "P", "R", "S")
"""Letters of holes that can be worked out from these tables."""

FURTHER = frozenset({"a", "b", "c", "cd", "ef", "fg", "j", "t", "u", "v", "x", "y", "z", "za", "zb", "zc"})
"""Letters of the standard that these tables do not hold, as shafts."""


_CLASS = re.compile(r"([A-Za-z]{1,2})([0-9]{1,2})")


class Deviations(NamedTuple):
    """Lower and upper deviation from the nominal size, in mm."""

    lower: Fraction
    upper: Fraction


class Fit(NamedTuple):
    """Least and greatest clearance of hole and shaft in mm, negative for interference; the kind of fit."""

    least: Fraction
    greatest: Fraction
    kind: Literal["clearance", "transition", "interference"]


def is_class(text: str) -> bool:
    """Whether the text has the form of a tolerance class of ISO 286, in these tables or not.

    >>> is_class("H7"), is_class("u6"), is_class("mm2")
    (True, True, False)
    """
    found = _CLASS.fullmatch(text)
    if found is None or not (found[1].isupper() or found[1].islower()):
        return False
    return found[1].lower() in SHAFTS or found[1].lower() in {"js", *FURTHER}


def deviations(nominal: Fraction, tolerance_class: str) -> Deviations:
    """The deviations of a tolerance class at a nominal size in mm, in mm.

    >>> deviations(Fraction(25), "g6")
    Deviations(lower=Fraction(-1, 50), upper=Fraction(-7, 1000))

    Raises:
        Unreadable: LIM003 not a tolerance class, LIM005 size, grade or letter outside the tables.
    """
    found = _CLASS.fullmatch(tolerance_class)
    if found is None or not is_class(tolerance_class):
        raise Unreadable("LIM003", f"{tolerance_class!r} is not a class of ISO 286", "write it like H7 or g6")
    letter, grade = found[1], int(found[2])
    if outside := _outside_tables(nominal, letter, grade):
        raise Unreadable("LIM005", outside, "write the limits as numbers")
    lower, upper = (_hole if letter.isupper() else _shaft)(letter, grade, nominal)
    return Deviations(lower / 1000, upper / 1000)


def fit(nominal: Fraction, hole: str, shaft: str) -> Fit:
    """The clearances of a hole and a shaft of one nominal size (ISO 286-1:2010 3.3), in mm.

    Raises:
        Unreadable: as :func:`deviations`; LIM003 where the two are not a hole and a shaft, in this order.
    """
    if not (hole[:1].isupper() and shaft[:1].islower()):
        raise Unreadable("LIM003", f"{hole}/{shaft} is not a hole and a shaft", "write it like H7/g6")
    inner, outer = deviations(nominal, hole), deviations(nominal, shaft)
    least, greatest = inner.lower - outer.upper, inner.upper - outer.lower
    if least >= 0:
        return Fit(least, greatest, "clearance")
    return Fit(least, greatest, "transition" if greatest > 0 else "interference")


def _outside_tables(nominal: Fraction, letter: str, grade: int) -> str:
    """What of a class and a size the tables do not have; empty where they have it."""
    if not 0 < nominal <= STEPS[-1]:
        size = display_number(nominal)
        return f"nominal size {size} mm is outside the ISO 286 table, over 0 up to {STEPS[-1]} mm"
    if grade not in GRADES:
        return f"grade {grade} of {letter}{grade} is not in the table, which has 5 to 14"
    if nominal <= 1 and (grade == 14 or (letter == "N" and grade > 8)):
        # notes to Tables 1 and 5, from memory
        return f"{letter}{grade} is not given for nominal sizes up to 1 mm"
    if letter.lower() in FURTHER:
        letters = ", ".join(HOLES) if letter.isupper() else "d, e, f, g, h, js, k, m, n, p, r, s"
        return f"deviation {letter} of {letter}{grade} is not in the table, which has {letters}"
    if letter == "K" and grade > 8 and nominal > 3:
        return f"K{grade} has no deviation over 3 mm; K ends at grade 8"
    return ""


def _grade_width(grade: int, nominal: Fraction) -> Fraction:
    return Fraction(GRADES[grade][bisect_left(STEPS, nominal)])


def _fundamental(letter: str, nominal: Fraction) -> Fraction:
    return Fraction(SHAFTS[letter][bisect_left(FINE_STEPS if letter in "rs" else STEPS, nominal)])


def _shaft(letter: str, grade: int, nominal: Fraction) -> tuple[Fraction, Fraction]:
    width = _grade_width(grade, nominal)
    if letter == "js":
        return -width / 2, width / 2
    nearest = _fundamental(letter, nominal)
    if letter in "defgh":
        return nearest - width, nearest
    if letter == "k" and grade > 7:
        nearest = Fraction(0)
    return nearest, nearest + width


def _hole(letter: str, grade: int, nominal: Fraction) -> tuple[Fraction, Fraction]:
    width = _grade_width(grade, nominal)
    if letter == "JS":
        return -width / 2, width / 2
    mirrored = -_fundamental(letter.lower(), nominal)
    if letter in "DEFGH":
        return mirrored, mirrored + width
    upper = _upper_of_hole(letter, grade, nominal, mirrored)
    return upper - width, upper


def _upper_of_hole(letter: str, grade: int, nominal: Fraction, mirrored: Fraction) -> Fraction:
    """The upper deviation of holes K to S in micrometers (ISO 286-1:2010 4.3.2.5 and Table 3)."""
    if letter == "M" and grade == 6 and 250 < nominal <= 315:
        return Fraction(-9)  # the standard's one exception, where the rule gives -11
    if grade <= (8 if letter in "KMN" else 7):
        return mirrored + HOLE_DELTA[grade][bisect_left(STEPS, nominal)]
    if letter == "N":
        return Fraction(-4 if nominal <= 3 else 0)
    return mirrored


GeneralKind = Literal["linear", "radius or chamfer", "angle"]
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


_TABLES: dict[GeneralKind, _Table] = {
    "linear": _table(_LINEAR),
    "radius or chamfer": _table(_BROKEN_EDGES),
    "angle": _table(_ANGLES),
}


def general_tolerance(kind: GeneralKind, size: Fraction, tolerance_class: str) -> Fraction:
    """The tolerance ± of a class, in mm; for angles in minutes of arc, by the shorter leg (Tables 1, 2, 3).

    ``size`` is the nominal size in mm; for angles the length of the shorter leg in mm.

    >>> general_tolerance("linear", Fraction(120), "m")
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
        what = f"ISO 2768-1 class {tolerance_class} has no {kind} tolerance at {display_number(size)} mm"
        raise Unreadable("LIM005", what, "write the tolerance as a number")
    return found
