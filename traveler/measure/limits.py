"""Limits of a check: what a person writes, as exact numbers.

==================================  =====================================================
written                             read as
==================================  =====================================================
``24 N·m ± 1.5``, ``24 ± 1.5 N·m``  22.5 to 25.5 N·m; ``± 5 %`` is five percent of 24
``24 +2/-1 N·m``                    23 to 26 N·m, the deviations in either order
``10 to 12 mm``                     10 to 12 mm
``min 8 N``, ``max 0.05 mm``        one bound; also ``8 N min``, ``≥ 8 N``, ``≤ 0.05 mm``
``25 H7``, ``25 mm g6``             ISO 286-2 class; millimetres where no unit is written
``120 mm ISO 2768-m``               ISO 2768-1 class (``traveler.measure.iso2768``)
==================================  =====================================================

Bounds are inclusive. A tolerance may have a unit of its own (``1/4 in ± 5 mil``, ``20 °C ± 2 K``); in degrees
Celsius it is a difference.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from traveler.measure import units
from traveler.measure.number import decimals_needed, exact_text, tidy
from traveler.measure.quantity import Quantity, parse_quantity, split
from traveler.measure.unreadable import Unreadable

_FORMS = "write it like '24 N·m ± 1.5', '24 +2/-1 N·m', '10 to 12 mm', 'min 8 N', 'max 0.05 mm' or '25 H7'"
_BOUND = re.compile(r"(?:(max|min)(?:\. ?| )|(≤|≥|<=|>=) ?)(?P<value>.+)|(?P<before>.+?) (max|min)\.?", re.IGNORECASE)
_DEVIATIONS = re.compile(r"(?P<nominal>.+?) ?(?P<first>[+-] ?[0-9.,][^+/-]*|0) ?/ ?(?P<second>[+-] ?[0-9.,].*|0.*)")


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
        if self.fractions and value.denominator in (2, 4, 8, 16, 32, 64, 128):
            whole, rest = divmod(abs(value), 1)
            return ("-" if value < 0 else "") + (f"{whole} {rest}" if whole else str(rest))
        return exact_text(value, 0 if self.fractions else self.decimals)

    def describe(self) -> str:
        """The bounds for printing: ``max 0.05 mm``, ``22.5 to 25.5 N·m``. ``parse_limits`` reads it back."""
        if self.lower is None or self.upper is None:
            word, bound = ("max", self.upper) if self.lower is None else ("min", self.lower)
            return f"{word} {self.number(bound or Fraction(0))} {self.unit}"
        return f"{self.number(self.lower)} to {self.number(self.upper)} {self.unit}"

    def as_dict(self) -> dict[str, str | None]:
        """For ``--json``: text, lower, upper, unit; numbers exact, as text."""
        lower, upper = (None if one is None else exact_text(one, self.decimals) for one in (self.lower, self.upper))
        return {"text": self.text, "lower": lower, "upper": upper, "unit": self.unit}


def parse_limits(text: str) -> Limits:
    """The limits that a person wrote.

    >>> parse_limits("24 N·m ± 1.5").describe()
    '22.5 to 25.5 N·m'

    Raises:
        Unreadable: LIM001 unit missing, LIM002 inverted, LIM003 not understood, LIM004 zero-width or
            impossible, LIM005 outside the standard's table, LIM006 ``expected`` not replaced; NUM and UNT
            codes for numbers and units.
    """
    return _parse(text)


@lru_cache(maxsize=8192)
def _parse(text: str) -> Limits:
    plain = _plain(text)
    if plain.casefold().startswith("expected"):
        hint = "give variant, crate and packing list their masses"
        raise Unreadable("LIM006", f"{plain!r} needs an expected value, and there is none", hint)
    if found := _BOUND.fullmatch(plain):
        word = (found[1] or found[5] or "").casefold() or {"≤": "max", "<": "max"}.get(found[2][0], "min")
        return _one_sided(text, word, found["value"] or found["before"])
    if " to " in plain:
        return _range(text, plain)
    if "±" in plain:
        return _plus_minus(text, plain)
    if found := _DEVIATIONS.fullmatch(plain):
        return _deviations(text, found["nominal"], found["first"], found["second"])
    raise _not_understood(plain)


def _plain(text: str) -> str:
    return re.sub(r"\+ ?/ ?-(?=[ 0-9.,])|\+-", "±", tidy(text))


def _not_understood(plain: str) -> Unreadable:
    if re.match(r"[<>](?!=)", plain):
        return Unreadable("LIM003", f"{plain!r} has an exclusive bound; bounds are inclusive", "write max or min")
    if re.fullmatch(r"[0-9.,]+ ?[-–] ?[0-9.,]+.*", plain):
        hint = "write '" + re.sub(r"(?<=[0-9]) ?[-–] ?(?=[0-9.,])", " to ", plain, count=1) + "'"
        return Unreadable("LIM003", f"{plain!r} may be a range or a difference", hint)
    return Unreadable("LIM003", f"{plain!r} is not understood as limits", _FORMS)


def _one_sided(text: str, word: str, value: str) -> Limits:
    bound = _with_unit(value, text)
    lower, upper = (None, bound.value) if word == "max" else (bound.value, None)
    return checked(Limits(text, lower, upper, None, bound.unit, bound.decimals, fractions="/" in _number_part(value)))


def _range(text: str, plain: str) -> Limits:
    parts = plain.split(" to ")
    if len(parts) != 2:
        raise _not_understood(plain)
    second = _with_unit(parts[1], text)
    first = parse_quantity(parts[0], second.unit)
    if first.unit != second.unit:
        second = second.to(first.unit)
    fractions = any("/" in _number_part(part) for part in parts)
    decimals = max(first.decimals, second.decimals)
    return checked(Limits(text, first.value, second.value, None, first.unit, decimals, fractions=fractions))


def _plus_minus(text: str, plain: str) -> Limits:
    parts = [part.strip() for part in plain.split("±")]
    if len(parts) != 2 or not parts[1] or parts[1][0] in "+-":
        raise _not_understood(plain)
    nominal, (tolerance,) = _nominal_and(parts[0], [parts[1]], text)
    return _around(text, nominal, -tolerance.value, tolerance.value, tolerance.decimals, "/" in _number_part(plain))


def _deviations(text: str, nominal_text: str, first: str, second: str) -> Limits:
    parts = [re.sub(r"^([+-]) ", r"\1", part.strip()) for part in (first, second)]
    nominal, deviations = _nominal_and(nominal_text, parts, text)
    low, high = sorted(one.value for one in deviations)
    decimals = max(one.decimals for one in deviations)
    fractions = "/" in _number_part(nominal_text)
    return _around(text, nominal, low, high, decimals, fractions)


def _nominal_and(nominal_text: str, parts: list[str], text: str) -> tuple[Quantity, list[Quantity]]:
    """The nominal, and deviations from it in its unit; the unit may be written with either."""
    last_unit = split(tidy(parts[-1]))[1]
    number, unit = _degrees_or_split(nominal_text)
    if not unit and not last_unit:
        raise _unit_missing(text)
    nominal = parse_quantity(nominal_text, None if unit else units.parse_unit(last_unit).symbol)
    deviations = []
    for part in parts:
        own = parse_quantity(part, units.parse_unit(last_unit, nominal.unit).symbol if last_unit else nominal.unit)
        if own.unit == "%" and nominal.unit != "%":
            value = nominal.value * own.value / 100
            own = Quantity(value, nominal.unit, part, decimals_needed(value) or 0)
        deviations.append(own.difference_to(nominal.unit))
    return nominal, deviations


def _degrees_or_split(text: str) -> tuple[object, str]:
    return (None, "°") if "°" in text else split(text)


def _around(text: str, nominal: Quantity, low: Fraction, high: Fraction, decimals: int, fractions: bool) -> Limits:
    lower, upper = nominal.value + low, nominal.value + high
    most = max(nominal.decimals, decimals)
    return checked(Limits(text, lower, upper, nominal.value, nominal.unit, most, fractions=fractions))


def _with_unit(value: str, text: str) -> Quantity:
    try:
        return parse_quantity(value)
    except Unreadable as problem:
        raise (_unit_missing(text) if problem.code == "UNT001" else problem) from None


def _unit_missing(text: str) -> Unreadable:
    plain = tidy(text)
    return Unreadable("LIM001", f"limits {plain!r} have no unit", f"write the unit, like '{plain} mm'")


def _number_part(text: str) -> str:
    """The text without its letters and what follows a solidus that no digit precedes: where fractions show."""
    return " ".join(re.findall(r"[0-9]+/[0-9]+", text))


def checked(limits: Limits) -> Limits:
    """The limits, if a reading can meet them.

    Raises:
        Unreadable: LIM002 the lower limit is above the upper one, LIM004 they leave no width, or lie
            below absolute zero.
    """
    lower, upper = limits.lower, limits.upper
    if lower is not None and upper is not None and lower >= upper:
        low, high = f"{limits.number(lower)} {limits.unit}", f"{limits.number(upper)} {limits.unit}"
        if lower == upper:
            raise Unreadable("LIM004", f"limits {limits.text!r} leave no width: both are {low}", "give a tolerance")
        hint = f"write '{limits.number(upper)} to {limits.number(lower)} {limits.unit}'"
        raise Unreadable("LIM002", f"lower limit {low} is above upper limit {high}", hint)
    if upper is not None and units.parse_unit(limits.unit).kind == "point" and units.convert(upper, limits.unit, "K") < 0:
        raise Unreadable("LIM004", f"upper limit {limits.number(upper)} {limits.unit} is below absolute zero")
    return limits
