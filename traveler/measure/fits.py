"""Fits of two parts as text: ``25 H7/g6``."""

from __future__ import annotations

import re
from dataclasses import dataclass

from traveler.measure import iso286
from traveler.measure.bounds import Limits
from traveler.measure.limits import parse_limits
from traveler.measure.number import tidy
from traveler.measure.quantity import parse_quantity
from traveler.measure.unreadable import Unreadable

_FIT = re.compile(
    r"[⌀Øø∅]? ?(?P<size>[0-9].*?) ?"
    r"(?P<hole>(?<![A-Za-z])[A-Z]{1,2}[0-9]{1,2}) ?/ ?(?P<shaft>[a-z]{1,2}[0-9]{1,2})"
)


@dataclass(frozen=True, slots=True)
class FitLimits:
    """Hole and shaft of one nominal size, and the clearance between them; negative is interference."""

    text: str
    hole: Limits
    shaft: Limits
    clearance: iso286.Fit
    """In mm."""


def is_fit(text: str) -> bool:
    """Whether the text has the form of a fit."""
    return _FIT.fullmatch(tidy(text)) is not None


def parse_fit(text: str) -> FitLimits:
    """The limits of hole and shaft, and the clearance that comes of them (ISO 286-1:2010 3.3).

    >>> parse_fit("25 H7/g6").clearance
    Fit(least=Fraction(7, 1000), greatest=Fraction(41, 1000), kind='clearance')

    Raises:
        Unreadable: LIM003 not a fit, LIM005 outside the tables, NUM and UNT codes for the size.
    """
    found = _FIT.fullmatch(tidy(text))
    if found is None:
        raise Unreadable("LIM003", f"{text!r} is not understood as a fit", "write it like '25 H7/g6'")
    size = parse_quantity(found["size"], "mm").to("mm")
    clearance = iso286.fit(size.value, found["hole"], found["shaft"])
    hole, shaft = (parse_limits(f"{found['size']} {found[part]}") for part in ("hole", "shaft"))
    return FitLimits(text, hole, shaft, clearance)
