"""Limits as values: bounds with a unit, how they print, and whether a reading can meet them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from traveler.measure import units
from traveler.measure.number import arc_text, decimals_needed, exact_text
from traveler.measure.rounding import inward
from traveler.measure.unreadable import Unreadable

_SCALE_MARKS = (2, 4, 8, 16, 32, 64, 128)


@dataclass(frozen=True, slots=True)
class Limits:
    """Bounds of a check in ``unit``, both inclusive; None where there is no such bound.

    ``text`` is what was written, ``decimals`` the most decimals written in it, ``source`` the standard it
    comes from or ``as written``. ``fractions``: it was written in fractions and prints in fractions.
    """

    text: str
    lower: Fraction | None
    upper: Fraction | None
    nominal: Fraction | None
    unit: str
    decimals: int
    source: str = "as written"
    fractions: bool = False

    @property
    def width(self) -> Fraction | None:
        """The width of the tolerance zone; None if it has one bound only."""
        return None if self.lower is None or self.upper is None else self.upper - self.lower

    def number(self, value: Fraction) -> str:
        """A value in the unit of the limits, as text: exact, with the decimals of the limits."""
        if self.fractions and value.denominator in _SCALE_MARKS:
            whole, rest = divmod(abs(value), 1)
            return ("-" if value < 0 else "") + (f"{whole} {rest}" if whole else str(rest))
        return exact_text(value, 0 if self.fractions else self.decimals)

    def describe(self) -> str:
        """The bounds for printing: ``max 0.05 mm``, ``22.5 to 25.5 N·m``. ``parse_limits`` reads it back."""
        if self.lower is None or self.upper is None:
            word, bound = ("max", self.upper) if self.lower is None else ("min", self.lower)
            return f"{word} {self.number(bound or Fraction(0))} {self.unit}"
        if self.unit == "deg" and None in (decimals_needed(self.lower), decimals_needed(self.upper)):
            return f"{arc_text(self.lower)} to {arc_text(self.upper)}"
        return f"{self.number(self.lower)} to {self.number(self.upper)} {self.unit}"

    def as_dict(self) -> dict[str, str | None]:
        """For ``--json``: text, lower, upper, unit; numbers exact, as text."""
        lower, upper = (
            None if one is None else exact_text(one, self.decimals) for one in (self.lower, self.upper)
        )
        return {"text": self.text, "lower": lower, "upper": upper, "unit": self.unit}

    def to(self, unit: str, decimals: int) -> Limits:
        """The limits in another unit, rounded inwards to this many decimals: they never admit more.

        Raises:
            Unreadable: UNT003 for a unit of another dimension, UNT002 for an unknown one, LIM004 if
                rounding leaves nothing.
        """
        symbol = units.parse_unit(unit).symbol
        lower, upper, nominal = (
            None if one is None else units.convert(one, self.unit, symbol)
            for one in (self.lower, self.upper, self.nominal)
        )
        low, high = inward(lower, upper, decimals)
        if low is not None and high is not None and low > high:
            what = f"limits {self.text!r} leave nothing in {symbol} with {decimals} decimals"
            raise Unreadable("LIM004", what, "keep more decimals")
        return Limits(self.text, low, high, nominal, symbol, decimals, self.source)


def checked(limits: Limits) -> Limits:
    """The limits, if a reading can meet them.

    Raises:
        Unreadable: LIM002 the lower limit is above the upper one, LIM004 they leave no width, or lie
            below absolute zero.
    """
    lower, upper, unit = limits.lower, limits.upper, limits.unit
    if lower is not None and upper is not None and lower >= upper:
        low, high = f"{limits.number(lower)} {unit}", f"{limits.number(upper)} {unit}"
        if lower == upper:
            what = f"limits {limits.text!r} leave no width: both are {low}"
            raise Unreadable("LIM004", what, "give a tolerance")
        hint = f"write '{limits.number(upper)} to {limits.number(lower)} {unit}'"
        raise Unreadable("LIM002", f"lower limit {low} is above upper limit {high}", hint)
    if upper is not None and units.parse_unit(unit).kind == "point" and units.convert(upper, unit, "K") < 0:
        what = f"upper limit {limits.number(upper)} {unit} is below absolute zero"
        raise Unreadable("LIM004", what, "check the sign")
    return limits


def in_unit(limits: Limits, unit: str) -> Limits:
    """The limits in another unit: exactly where six decimals do it, else rounded inwards to six.

    Raises:
        Unreadable: as :meth:`Limits.to`.
    """
    symbol = units.parse_unit(unit).symbol
    bounds = (one for one in (limits.lower, limits.upper) if one is not None)
    needed = [decimals_needed(units.convert(one, limits.unit, symbol)) for one in bounds]
    return limits.to(symbol, 6 if None in needed else min(6, max(one or 0 for one in needed)))
