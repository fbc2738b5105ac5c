"""The error that a calibration found in a gauge, and what its readings are worth with it taken away.

The sign is that of JCGM 200:2012 (VIM) 2.16: error = what the gauge showed − what the standard is, so ``+``
is a gauge that shows too much. A constant part and a part in per cent of the true value may stand together:

    shown = true · (1 + share) + constant        true = (shown − constant) / (1 + share)

Taking it away is a correction (VIM 2.53). Clause numbers are from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from traveler.measure.number import Unreadable, decimals_needed, display_number, parse_number, tidy
from traveler.measure.quantity import Quantity, parse_quantity, parse_unit

_TERMS = re.compile(r" (?=[+-])")
_MORE = 2
"""Decimals shown beyond those that were written, where a corrected value never ends."""
_EXAMPLE = "write it like +0.02 mm, -0.5 %, or +0.02 mm +0.5 %"


@dataclass(frozen=True, slots=True)
class FoundError:
    """``constant`` is a difference with its unit (None: no such part), ``share`` a part of the true value."""

    constant: Quantity | None
    share: Fraction
    written: str

    @property
    def nothing(self) -> bool:
        """Whether it changes no reading."""
        return not self.share and (self.constant is None or not self.constant.value)

    def __str__(self) -> str:
        """As it was written, with one kind of minus and single spaces."""
        return self.written


def parse_error(text: str) -> FoundError:
    """The error in a text such as ``+0.02 mm``, ``-0.5 %`` or ``+0.02 mm +0.5 %``. The sign must be written.

    >>> parse_error("+0.02 mm +0.5 %").share
    Fraction(1, 200)

    Raises:
        Unreadable: ERR001 not an error, ERR002 the sign is missing, ERR004 a share that leaves nothing of the
            value; NUM and UNT codes of its numbers.
    """
    plain = tidy(text)
    constant: Quantity | None = None
    share: Fraction | None = None
    for term in _TERMS.split(plain):
        number, per_cent = _term(term)
        if per_cent and share is None:
            share = number.value / 100
        elif not per_cent and constant is None:
            constant = number
        else:
            what = f"{plain!r} has two parts of one kind"
            raise Unreadable("ERR001", what, _EXAMPLE)
    if share is not None and share <= -1:
        what = f"{plain!r} leaves nothing of the value"
        raise Unreadable("ERR004", what, _EXAMPLE)
    return FoundError(constant, share or Fraction(0), plain)


def _term(term: str) -> tuple[Quantity, bool]:
    """One signed part; whether it is in per cent of the value."""
    if "±" in term:
        what = f"{term!r} says how uncertain something is; an error has one sign"
        raise Unreadable("ERR001", what, _EXAMPLE)
    if not term:
        raise Unreadable("ERR001", "there is no error written", _EXAMPLE)
    signed = term[0] + term[1:].lstrip() if term[0] in "+-" else term
    per_cent = signed.endswith("%")
    if per_cent:
        number = parse_number(signed.removesuffix("%"))
        found = Quantity(number.value, "%", term, number.decimals)
    else:
        found = parse_quantity(signed)
    if signed[0] not in "+-" and found.value:
        what = f"{term!r} does not say which way"
        raise Unreadable("ERR002", what, f"write +{term} if the gauge showed too much, -{term} if too little")
    return found, per_cent


def corrected(reading: Quantity, error: FoundError) -> Quantity:
    """What the reading is worth with the error taken away, in its own unit; exact.

    ``decimals`` are those the value needs, or two more than were written.

    >>> str(corrected(parse_quantity("0.049 mm"), parse_error("+0.02 mm")))
    '0.029 mm'

    Raises:
        Unreadable: UNT003 the error is of another dimension than the reading, ERR003 a part of a value whose
            zero is agreed upon (°C, °F, dB).
    """
    value = reading.value
    if error.constant is not None:
        value -= error.constant.difference_to(reading.unit).value
    if error.share:
        unit = parse_unit(reading.unit)
        if unit.kind == "point" or unit.symbol.startswith("dB"):
            what = f"{display_number(error.share * 100)} % of a reading in {reading.unit} means nothing"
            raise Unreadable("ERR003", what, "give the error in the unit of the readings")
        value /= 1 + error.share
    at_least = max(reading.decimals, _decimals(error, reading.unit))
    needed = decimals_needed(value)
    fine = needed is not None and needed <= at_least + _MORE
    decimals = max(at_least, needed or 0) if fine else at_least + _MORE
    return Quantity(value, reading.unit, reading.written, decimals)


def _decimals(error: FoundError, unit: str) -> int:
    """How finely the constant part is known, where it is written in this unit."""
    constant = error.constant
    return constant.decimals if constant is not None and constant.unit == unit else 0
