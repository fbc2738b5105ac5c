"""Quantities: an exact number with a unit, and what was written."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from traveler.measure import units
from traveler.measure.number import (
    Number,
    Unreadable,
    decimals_needed,
    display_number,
    format_number,
    parse_number,
    tidy,
)

_HEAD = re.compile(
    r"[+-]?(?:[0-9]+[ -])?[0-9]+/[0-9]+(?![0-9.,_])"
    r"|[+-]?[0-9.,_]*[0-9_][.,]?(?:[eE][+-]?[0-9]+)?(?![0-9_])"
)
_ARC = re.compile(r"([+-]?)([0-9]{1,6})° ?(?:([0-9]{1,2})')? ?(?:([0-9]{1,2}(?:[.,][0-9]{1,12})?)\")?")
_ARC_SIGNS = str.maketrans("′″’”", "'\"'\"")


@dataclass(frozen=True, slots=True)
class Quantity:
    """An exact value in a unit (canonical spelling), the text it came from, and its written decimals."""

    value: Fraction
    unit: str
    written: str
    decimals: int

    def to(self, unit: str) -> Quantity:
        """The same quantity in another unit, exactly; ``written`` and ``decimals`` stay as they were.

        Raises:
            Unreadable: UNT003 for a unit of another dimension, UNT002 for an unknown one.
        """
        if unit == self.unit:
            return self
        symbol = units.parse_unit(unit).symbol
        return Quantity(units.convert(self.value, self.unit, symbol), symbol, self.written, self.decimals)

    def difference_to(self, unit: str) -> Quantity:
        """This difference (tolerance, uncertainty) in another unit: ``2 °C`` is ``2 K``, not ``275.15 K``.

        Raises:
            Unreadable: as :meth:`to`.
        """
        if unit == self.unit:
            return self
        symbol = units.parse_unit(unit).symbol
        value = units.convert_difference(self.value, self.unit, symbol)
        return Quantity(value, symbol, self.written, self.decimals)

    def restated(self, unit: str) -> str:
        """Number and unit in another unit for print, rounded as finely as it was written and no finer.

        The last place is the largest power of ten that is not above half a step of the last written digit
        (NIST SP 811 B.7): ``36 ft`` is ``11.0 m``. For judging, use :meth:`to`.

        Raises:
            Unreadable: as :meth:`to`.
        """
        there = self.to(unit)
        half_step = self.last_digit(there.unit) / 2
        return f"{format_number(there.value, decimals_of_step(half_step))} {there.unit}"

    def last_digit(self, unit: str) -> Fraction:
        """A step of the last written digit, in another unit.

        Raises:
            Unreadable: as :meth:`to`.
        """
        return units.convert_difference(Fraction(1, 10**self.decimals), self.unit, unit)

    def __str__(self) -> str:
        """Number and unit, with at least the written decimals."""
        return f"{display_number(self.value, self.decimals)} {self.unit}"


@lru_cache(maxsize=16384)
def parse_quantity(text: str, unit: str | None = None) -> Quantity:
    """The quantity that was written; ``unit`` is taken where none was.

    Angles may be written ``12° 30' 15"`` (the result is in deg).

    >>> parse_quantity("1 3/8 in").to("mm").value
    Fraction(1397, 40)

    Raises:
        Unreadable: NUM001 to NUM003 for the number, UNT001 unit missing, UNT002 unknown, UNT004 ambiguous.
    """
    plain = tidy(text)
    if "°" in plain and (arc := _degrees(plain)):
        return Quantity(arc.value, "deg", text, arc.decimals)
    number, written_unit = split_unit(plain)
    if not written_unit and unit is None:
        what = f"{plain!r} has no unit"
        raise Unreadable("UNT001", what, f"write the unit, like {plain} mm", (len(plain), len(plain)))
    symbol = units.parse_unit(written_unit or unit or "", unit if written_unit else None).symbol
    return Quantity(number.value, symbol, text, number.decimals)


def decimals_of_step(step: Fraction) -> int:
    """The fewest decimals whose last digit is no coarser than a step above 0."""
    decimals = 0
    while Fraction(1, 10**decimals) > step:
        decimals += 1
    return decimals


def split_unit(plain: str) -> tuple[Number, str]:
    """A tidied text, as its number and the text of its unit (empty if there is none).

    Raises:
        Unreadable: NUM001 to NUM003.
    """
    head = _HEAD.match(plain)
    if head is None:
        return parse_number(plain), ""
    rest = plain[head.end() :].strip()
    if rest and (rest[0].isdecimal() or rest[0] in "+-.,_") and not rest.startswith("1/"):
        return parse_number(plain), ""
    return parse_number(head[0]), rest


def _degrees(plain: str) -> Number | None:
    """Degrees, minutes and seconds as degrees; None if the text is not written so."""
    found = _ARC.fullmatch(plain.translate(_ARC_SIGNS).replace("''", '"'))
    if found is None or not (found[3] or found[4]):
        return None
    minutes, seconds = int(found[3] or 0), parse_number(found[4].replace(",", ".") if found[4] else "0").value
    if minutes > 59 or seconds >= 60:
        raise Unreadable("NUM001", f"{plain!r} has 60 or more minutes or seconds", "carry them over")
    value = int(found[2]) + Fraction(minutes, 60) + seconds / 3600
    needed = decimals_needed(value)
    return Number(-value if found[1] == "-" else value, 6 if needed is None or needed > 6 else needed)
