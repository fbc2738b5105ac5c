"""ISO 286 limits of size: the deviations of a tolerance class such as H7 or g6, and fits of two of them.

Source: ISO 286-1:2010 (rules and Tables 1 to 5); ISO 286-2:2010 lists what comes out. Nominal sizes up to
500 mm, grades 5 to 14, shafts d to s, holes D to S. Capital letters are holes, small ones shafts.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from fractions import Fraction
from typing import Literal, NamedTuple

from traveler.measure.iso286_tables import FINE_STEPS, FURTHER, GRADES, HOLE_DELTA, HOLES, SHAFTS, STEPS
from traveler.measure.number import shown
from traveler.measure.unreadable import Unreadable

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
    """Whether the text has the form of a tolerance class of the standard, in these tables or not.

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
    _within(nominal, letter, grade)
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


def _within(nominal: Fraction, letter: str, grade: int) -> None:
    if not 0 < nominal <= STEPS[-1]:
        what = f"nominal size {shown(nominal)} mm is outside the ISO 286 table, over 0 up to {STEPS[-1]} mm"
        raise Unreadable("LIM005", what, "write the limits as numbers")
    if grade not in GRADES:
        what = f"grade {grade} of {letter}{grade} is not in the table, which has 5 to 14"
        raise Unreadable("LIM005", what, "write the limits as numbers")
    if nominal <= 1 and (grade == 14 or (letter == "N" and grade > 8)):
        # notes to Tables 1 and 5, from memory
        what = f"{letter}{grade} is not given for nominal sizes up to 1 mm"
        raise Unreadable("LIM005", what, "write the limits as numbers")
    if letter.lower() in FURTHER:
        letters = ", ".join(HOLES) if letter.isupper() else "d, e, f, g, h, js, k, m, n, p, r, s"
        what = f"deviation {letter} of {letter}{grade} is not in the table, which has {letters}"
        raise Unreadable("LIM005", what, "write the limits as numbers")


def _step(nominal: Fraction) -> int:
    return bisect_left(STEPS, nominal)


def _symmetrical(width: Fraction) -> tuple[Fraction, Fraction]:
    return -width / 2, width / 2


def _fundamental(letter: str, nominal: Fraction) -> Fraction:
    column = bisect_left(FINE_STEPS, nominal) if letter in "rs" else _step(nominal)
    return Fraction(SHAFTS[letter][column])


def _shaft(letter: str, grade: int, nominal: Fraction) -> tuple[Fraction, Fraction]:
    width = Fraction(GRADES[grade][_step(nominal)])
    if letter == "js":
        return _symmetrical(width)
    nearest = _fundamental(letter, nominal)
    if letter in "defgh":
        return nearest - width, nearest
    if letter == "k" and grade > 7:
        nearest = Fraction(0)
    return nearest, nearest + width


def _hole(letter: str, grade: int, nominal: Fraction) -> tuple[Fraction, Fraction]:
    width = Fraction(GRADES[grade][_step(nominal)])
    if letter == "JS":
        return _symmetrical(width)
    if letter in "DEFGH":
        lower = -_fundamental(letter.lower(), nominal)
        return lower, lower + width
    upper = _upper_of_hole(letter, grade, nominal)
    return upper - width, upper


def _upper_of_hole(letter: str, grade: int, nominal: Fraction) -> Fraction:
    """The upper deviation of holes K to S in micrometres (ISO 286-1:2010 4.3.2.5 and Table 3)."""
    mirrored = -_fundamental(letter.lower(), nominal)
    if letter == "M" and grade == 6 and 250 < nominal <= 315:
        return Fraction(-9)  # the standard's one exception, where the rule gives -11
    if grade <= (8 if letter in "KMN" else 7):
        return mirrored + HOLE_DELTA[grade][_step(nominal)]
    if letter == "N":
        return Fraction(-4 if nominal <= 3 else 0)
    if letter == "K" and nominal > 3:
        what = f"K{grade} has no deviation over 3 mm; K ends at grade 8"
        raise Unreadable("LIM005", what, "write the limits as numbers")
    return mirrored
