"""Limits of a check: what a person writes, as exact numbers.

==================================  =====================================================
written                             read as
==================================  =====================================================
``24 N·m ± 1.5``, ``24 ± 1.5 N·m``  22.5 to 25.5 N·m; ``± 5 %`` is five percent of 24
``24 +2/-1 N·m``                    23 to 26 N·m, the deviations in either order
``10 to 12 mm``                     10 to 12 mm
``min 8 N``, ``max 0.05 mm``        one bound; also ``8 N min``, ``≥ 8 N``, ``≤ 0.05 mm``
``25 H7``, ``25 mm g6``             ISO 286-2 class; millimeters where no unit is written
``120 mm ISO 2768-m``               ISO 2768-1 class; ``R5``, ``chamfer 2``, ``… leg 50 mm``
==================================  =====================================================

Bounds are inclusive. A diameter sign in front is read over. The standards are in millimeters: a size in
another unit is worked out in millimeters and given back in its unit. Where no decimal writes it exactly it
is rounded inwards to six decimals.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from traveler.measure import iso
from traveler.measure.number import Unreadable, arc_text, decimals_needed, exact_text, inward, tidy
from traveler.measure.quantity import (
    Quantity,
    convert,
    convert_difference,
    parse_quantity,
    parse_unit,
    same_dimension,
    split_unit,
)

_SCALE_MARKS = (2, 4, 8, 16, 32, 64, 128)
_FORMS = "write it like '24 N·m ± 1.5', '24 +2/-1 N·m', '10 to 12 mm', 'min 8 N', 'max 0.05 mm' or '25 H7'"
_BEFORE = re.compile(r"(?:(?P<word>max|min)(?:\. ?| )|(?P<sign>≤|≥|<=|>=) ?)(?P<value>.+)", re.IGNORECASE)
_AFTER = re.compile(r"(?P<value>.+?) (?P<word>max|min)\.?", re.IGNORECASE)
_FRACTION = re.compile(r"[0-9]/[0-9]")
_NUMBER = r"(?:(?:[0-9]+[ -])?[0-9]+/[0-9]+|[0-9.,]+(?:[eE][+-]?[0-9]+)?)"
_DEVIATIONS = re.compile(
    rf"(?P<nominal>.*?[^ +-]) ?(?P<first>[+-] ?{_NUMBER}(?: ?[^0-9 +/-][^0-9+/-]*)?|0) ?"
    rf"/ ?(?P<second>[+-] ?{_NUMBER}(?: ?[^0-9 +-].*)?|0(?: ?[^0-9 +.,-].*)?)"
)
_CLASS = re.compile(r"(?P<size>[0-9].*?) ?(?P<class>(?<![A-Za-z])[A-Za-z]{1,2}[0-9]{1,2})")
_FIT = re.compile(
    r"[⌀Øø∅]? ?(?P<size>[0-9].*?) ?"
    r"(?P<hole>(?<![A-Za-z])[A-Z]{1,2}[0-9]{1,2}) ?/ ?(?P<shaft>[a-z]{1,2}[0-9]{1,2})"
)
_GENERAL = re.compile(
    r"(?:(?P<edge>R|radius|chamfer) ?)?(?P<size>.+?),? ISO ?2768(?:-1)?[ -]?(?P<class>[a-z])[A-Z]?"
    r"(?:,?(?: shorter)? leg (?P<leg>.+))?",
)


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
        """The width of the tolerance; None if it has one bound only."""
        return None if self.lower is None or self.upper is None else self.upper - self.lower

    @property
    def span(self) -> Fraction | None:
        """What a deviation is compared with: the width, or the distance of the only bound from zero.

        Common practice, no source: a check with one bound measures a deviation from nothing (a run-out, a
        gap), or a strength above nothing. None where that is 0, and where zero means nothing (°C, dB).
        """
        if self.width is not None:
            return self.width or None
        bound = self.upper if self.upper is not None else self.lower
        return None if not bound or parse_unit(self.unit).zero_is_agreed else abs(bound)

    def holds(self, value: Fraction) -> bool:
        """Whether a value in the unit of the limits lies within them, bounds included."""
        return (self.lower is None or value >= self.lower) and (self.upper is None or value <= self.upper)

    def excess(self, value: Fraction) -> Fraction:
        """How far a value lies above the upper limit, or (negative) below the lower one; 0 within."""
        if self.upper is not None and value > self.upper:
            return value - self.upper
        return min(value - self.lower, Fraction(0)) if self.lower is not None else Fraction(0)

    def margin(self, value: Fraction) -> Fraction:
        """How far within the nearest bound the value lies; negative outside. Without bounds 0."""
        below = [] if self.lower is None else [value - self.lower]
        above = [] if self.upper is None else [self.upper - value]
        return min(below + above, default=Fraction(0))

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
        lower, upper = self.bound_texts()
        return f"{lower} to {upper}" if self._in_minutes else f"{lower} to {upper} {self.unit}"

    def bound_texts(self) -> tuple[str, str]:
        """Lower and upper bound as printed, without the unit; empty where there is no such bound.

        Fractions where the limits are written in fractions; degrees that no decimal writes in minutes.
        """
        shown = arc_text if self._in_minutes else self.number
        lower, upper = ("" if bound is None else shown(bound) for bound in (self.lower, self.upper))
        return lower, upper

    @property
    def _in_minutes(self) -> bool:
        bounds = [bound for bound in (self.lower, self.upper) if bound is not None]
        return self.unit == "deg" and len(bounds) == 2 and None in map(decimals_needed, bounds)

    def as_dict(self) -> dict[str, str | None]:
        """For ``--json``: text, lower, upper, unit; numbers exact, as text."""
        lower, upper = (
            None if bound is None else exact_text(bound, self.decimals) for bound in (self.lower, self.upper)
        )
        return {"text": self.text, "lower": lower, "upper": upper, "unit": self.unit}

    def to(self, unit: str, decimals: int | None = None) -> Limits:
        """The limits in another unit, rounded inwards to these decimals: they never admit more.

        Without ``decimals``: exactly where six decimals do it, else rounded inwards to six.

        Raises:
            Unreadable: UNT003 for a unit of another dimension, UNT002 for an unknown one, LIM004 if
                rounding leaves nothing.
        """
        symbol = parse_unit(unit).symbol
        lower, upper, nominal = (
            None if bound is None else convert(bound, self.unit, symbol)
            for bound in (self.lower, self.upper, self.nominal)
        )
        if decimals is None:
            needed = [decimals_needed(bound) for bound in (lower, upper) if bound is not None]
            decimals = min(6, max((6 if count is None else count for count in needed), default=0))
        low, high = inward(lower, upper, decimals)
        if low is not None and high is not None and low > high:
            what = f"limits {self.text!r} leave nothing in {symbol} with {decimals} decimals"
            raise Unreadable("LIM004", what, "keep more decimals")
        return Limits(self.text, low, high, nominal, symbol, decimals, self.source)


@lru_cache(maxsize=8192)
def parse_limits(text: str) -> Limits:
    """The limits that a person wrote.

    >>> parse_limits("24 N·m ± 1.5").describe()
    '22.5 to 25.5 N·m'

    Raises:
        Unreadable: LIM001 unit missing, LIM002 inverted, LIM003 not understood, LIM004 zero-width or
            impossible, LIM005 outside the standard's table, LIM006 ``expected`` not replaced; NUM and UNT
            codes for numbers and units.
    """
    plain = re.sub(r"\+ ?/ ?-(?=[ 0-9.,])|\+-", "±", tidy(text))
    plain = re.sub(r"^[⌀Øø∅] ?(?=[0-9])", "", plain)
    if plain.casefold().startswith("expected"):
        hint = "give variant, crate and packing list their masses"
        raise Unreadable("LIM006", f"{plain!r} needs an expected value, and there is none", hint)
    if "ISO" in plain and "2768" in plain:
        return _general_tolerance(text, plain)
    if (found := _BEFORE.fullmatch(plain)) or (found := _AFTER.fullmatch(plain)):
        return _one_sided(text, found)
    if " to " in plain:
        return _range(text, plain)
    if (divided := _nominal_and_deviations(plain)) is not None:
        return _around(text, *divided)
    found = None if _FIT.fullmatch(plain) else _CLASS.fullmatch(plain)
    if found is not None and iso.is_class(found["class"]):
        return _of_class(text, found["size"], found["class"])
    raise _not_understood(plain)


def _not_understood(plain: str) -> Unreadable:
    if re.match(r"[<>](?!=)", plain):
        what = f"{plain!r} has an exclusive bound, and bounds are inclusive"
        return Unreadable("LIM003", what, "write max or min")
    if re.fullmatch(r"[0-9.,]+ ?[-–] ?[0-9.,]+.*", plain):
        hint = "write '" + re.sub(r"(?<=[0-9]) ?[-–] ?(?=[0-9.,])", " to ", plain, count=1) + "'"
        return Unreadable("LIM003", f"{plain!r} may be a range or a difference", hint)
    if _FIT.fullmatch(plain):
        what = f"{plain!r} is a fit of two parts, not the limits of one"
        return Unreadable("LIM003", what, "write the class of the part that is measured, like '25 H7'")
    return Unreadable("LIM003", f"{plain!r} is not understood as limits", _FORMS)


def _checked(limits: Limits) -> Limits:
    """The limits, if a reading can meet them (LIM002, LIM004)."""
    lower, upper, unit = limits.lower, limits.upper, limits.unit
    if lower is not None and upper is not None and lower >= upper:
        low, high = f"{limits.number(lower)} {unit}", f"{limits.number(upper)} {unit}"
        if lower == upper:
            what = f"limits {limits.text!r} leave no width: both are {low}"
            raise Unreadable("LIM004", what, "give a tolerance")
        hint = f"write '{limits.number(upper)} to {limits.number(lower)} {unit}'"
        raise Unreadable("LIM002", f"lower limit {low} is above upper limit {high}", hint)
    if upper is not None and parse_unit(unit).kind == "point" and convert(upper, unit, "K") < 0:
        what = f"upper limit {limits.number(upper)} {unit} is below absolute zero"
        raise Unreadable("LIM004", what, "check the sign")
    return limits


def _in_fractions(written: Iterable[str]) -> bool:
    return any(_FRACTION.search(part) for part in written)


def _one_sided(text: str, found: re.Match[str]) -> Limits:
    groups = found.groupdict()
    is_upper = (groups["word"] or "").casefold() == "max" or groups.get("sign") in ("≤", "<=")
    bound = _with_unit(found["value"], text)
    lower, upper = (None, bound.value) if is_upper else (bound.value, None)
    fractions = _in_fractions([found["value"]])
    return _checked(Limits(text, lower, upper, None, bound.unit, bound.decimals, fractions=fractions))


def _range(text: str, plain: str) -> Limits:
    ends = plain.split(" to ")
    if len(ends) != 2:
        raise _not_understood(plain)
    second = _with_unit(ends[1], text)
    first = parse_quantity(ends[0], second.unit)
    second = second.to(first.unit)
    decimals, fractions = max(first.decimals, second.decimals), _in_fractions(ends)
    return _checked(Limits(text, first.value, second.value, None, first.unit, decimals, fractions=fractions))


def _with_unit(value: str, text: str) -> Quantity:
    try:
        return parse_quantity(value)
    except Unreadable as problem:
        if problem.code != "UNT001":
            raise
    raise _without_unit(text, tidy(text))


def _without_unit(text: str, written: str) -> Unreadable:
    what = f"limits {text!r} have no unit of measure"
    return Unreadable("LIM001", what, f"write the unit, like '{written} mm'")


def _nominal_and_deviations(plain: str) -> tuple[str, tuple[str, ...]] | None:
    """Nominal and deviations of a tidied text, as texts: one for ``±``, two for ``+x/-y``; else None."""
    if "±" in plain:
        nominal, _, tolerance = (part.strip() for part in plain.partition("±"))
        understood = nominal and re.match(r"[0-9.,]", tolerance) and "±" not in tolerance
        return (nominal, (tolerance,)) if understood else None
    found = _DEVIATIONS.fullmatch(plain)
    if found is None:
        return None
    first, second = (re.sub(r"^([+-]) ", r"\1", found[name].strip()) for name in ("first", "second"))
    return found["nominal"], (first, second)


def _around(text: str, nominal_text: str, deviation_texts: tuple[str, ...]) -> Limits:
    """Limits from a nominal and its one tolerance or two deviations, each as text; ``text`` is the whole.

    The unit may stand with the nominal, with the tolerance, or with both. A tolerance in percent is one of
    the nominal, unless the nominal is a percentage itself. A tolerance in °C or °F is a difference.
    """
    last = _unit_text(deviation_texts[-1])
    if not last and not _unit_text(nominal_text):
        raise _without_unit(text, text)
    nominal = parse_quantity(nominal_text, last or None)
    beside = nominal.unit if last in ("", "'", '"') else last
    deviations = [_deviation(part, beside, nominal) for part in deviation_texts]
    values = [deviation.value for deviation in deviations]
    if len(values) == 1:
        values = [-values[0], values[0]]
    elif re.match("[0-9]", deviation_texts[0]) and re.match("[0-9]", deviation_texts[1]):
        raise Unreadable("LIM003", f"{text!r} has two deviations without a sign", "write '+2/-1'")
    lower, upper = nominal.value + min(values), nominal.value + max(values)
    decimals = max(quantity.decimals for quantity in (nominal, *deviations))
    fractions = _in_fractions((nominal_text, *deviation_texts))
    return _checked(Limits(text, lower, upper, nominal.value, nominal.unit, decimals, fractions=fractions))


def _deviation(part: str, beside: str, nominal: Quantity) -> Quantity:
    deviation = parse_quantity(part, beside)
    if deviation.unit == "%" and nominal.unit != "%":
        value = nominal.value * deviation.value / 100
        return Quantity(value, nominal.unit, part, decimals_needed(value) or 0)
    return deviation.difference_to(nominal.unit)


def _unit_text(part: str) -> str:
    """The text of the unit; ``deg`` for degrees written with their sign."""
    return "deg" if re.search(r"°(?! ?[CF])", part) and "/" not in part else split_unit(part)[1]


def _of_class(text: str, size_text: str, tolerance_class: str) -> Limits:
    size = parse_quantity(size_text, "mm")
    low, high = iso.deviations(size.to("mm").value, tolerance_class)
    return _standard(text, size, (low, high), "mm", f"ISO 286-2 {tolerance_class}", 3)


def _general_tolerance(text: str, plain: str) -> Limits:
    """Limits from a size and a class of ISO 2768-1: ``120 mm``, ``R5``, ``90 deg … leg 50 mm``."""
    found = _GENERAL.fullmatch(plain)
    if found is None:
        hint = "write '120 mm ISO 2768-m', 'R5 ISO 2768-m' or '90 deg ISO 2768-m leg 50 mm'"
        raise Unreadable("LIM003", f"{plain!r} is not understood as an ISO 2768 tolerance", hint)
    size, unit = parse_quantity(found["size"], "mm"), "mm"
    kind: iso.GeneralKind = "radius or chamfer" if found["edge"] else "linear"
    measured = size
    if same_dimension(size.unit, "deg"):
        if found["leg"] is None:
            what = f"{text!r} needs the length of the angle's shorter leg"
            raise Unreadable("LIM003", what, "add it, like 'leg 50 mm'")
        kind, unit, measured = "angle", "arcmin", parse_quantity(found["leg"], "mm")
    tolerance = iso.general_tolerance(kind, measured.to("mm").value, found["class"])
    return _standard(text, size, (-tolerance, tolerance), unit, f"ISO 2768-1 {found['class']}, {kind}", 0)


def _standard(
    text: str, size: Quantity, deviations: tuple[Fraction, Fraction], unit: str, source: str, decimals: int
) -> Limits:
    """Limits in the unit of the size from deviations in the unit of the standard."""
    low, high = (size.value + convert_difference(value, unit, size.unit) for value in deviations)
    needed = [decimals_needed(bound) for bound in (low, high)]
    if None in needed and size.unit != "deg":  # thirds of a degree print as minutes
        return _checked(Limits(text, *inward(low, high, 6), size.value, size.unit, 6, source))
    most = max(size.decimals, decimals if size.unit == "mm" else 0, *(count or 0 for count in needed))
    return _checked(Limits(text, low, high, size.value, size.unit, most, source))


@dataclass(frozen=True, slots=True)
class FitLimits:
    """Hole and shaft of one nominal size, and the clearance between them; negative is interference."""

    text: str
    hole: Limits
    shaft: Limits
    clearance: iso.Fit
    """In mm."""


def is_fit(text: str) -> bool:
    """Whether the text has the form of a fit."""
    return _FIT.fullmatch(tidy(text)) is not None


def parse_fit(text: str) -> FitLimits:
    """The limits of hole and shaft, and the clearance between them (ISO 286-1:2010 3.3).

    >>> parse_fit("25 H7/g6").clearance
    Fit(least=Fraction(7, 1000), greatest=Fraction(41, 1000), kind='clearance')

    Raises:
        Unreadable: LIM003 not a fit, LIM005 outside the tables, NUM and UNT codes for the size.
    """
    found = _FIT.fullmatch(tidy(text))
    if found is None:
        raise Unreadable("LIM003", f"{text!r} is not understood as a fit", "write it like '25 H7/g6'")
    size = parse_quantity(found["size"], "mm").to("mm")
    clearance = iso.fit(size.value, found["hole"], found["shaft"])
    hole, shaft = (parse_limits(f"{found['size']} {found[part]}") for part in ("hole", "shaft"))
    return FitLimits(text, hole, shaft, clearance)
