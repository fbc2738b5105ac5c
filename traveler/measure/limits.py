"""Limits of a check: what a person writes, as exact numbers.

==================================  =====================================================
written                             read as
==================================  =====================================================
``24 N·m ± 1.5``, ``24 ± 1.5 N·m``  22.5 to 25.5 N·m; ``± 5 %`` is five percent of 24
``24 +2/-1 N·m``                    23 to 26 N·m, the deviations in either order
``10 to 12 mm``                     10 to 12 mm
``min 8 N``, ``max 0.05 mm``        one bound; also ``8 N min``, ``≥ 8 N``, ``≤ 0.05 mm``
``25 H7``, ``25 mm g6``             ISO 286-2 class; millimetres where no unit is written
``120 mm ISO 2768-m``               ISO 2768-1 class; ``R5``, ``chamfer 2``, ``… leg 50 mm``
``expected ± 0.4 kg``               only by :func:`parse_expected`, with the expected value
==================================  =====================================================

Bounds are inclusive. A diameter sign in front is read over.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from traveler.measure import standard_limits, tolerances
from traveler.measure.bounds import Limits, checked
from traveler.measure.number import exact_text, tidy
from traveler.measure.quantity import Quantity, parse_quantity
from traveler.measure.unreadable import Unreadable

__all__ = ["Expected", "Limits", "parse_expected", "parse_limits"]

_FORMS = "write it like '24 N·m ± 1.5', '24 +2/-1 N·m', '10 to 12 mm', 'min 8 N', 'max 0.05 mm' or '25 H7'"
_BEFORE = re.compile(r"(?:(?P<word>max|min)(?:\. ?| )|(?P<sign>≤|≥|<=|>=) ?)(?P<value>.+)", re.IGNORECASE)
_AFTER = re.compile(r"(?P<value>.+?) (?P<word>max|min)\.?", re.IGNORECASE)
_FIT = re.compile(r".+ ?[A-Z]{1,2}[0-9]{1,2} ?/ ?[a-z]{1,2}[0-9]{1,2}")
_FRACTION = re.compile(r"[0-9]/[0-9]")


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
    if "ISO" in plain and "2768" in plain:
        return standard_limits.general(text, plain)
    if (found := _BEFORE.fullmatch(plain)) or (found := _AFTER.fullmatch(plain)):
        return _one_sided(text, found)
    if " to " in plain:
        return _range(text, plain)
    if divided := tolerances.parts(plain):
        return tolerances.around(text, *divided)
    if not _FIT.fullmatch(plain) and (limits := standard_limits.of_class(text, plain)):
        return limits
    raise _not_understood(plain)


def _plain(text: str) -> str:
    plain = re.sub(r"\+ ?/ ?-(?=[ 0-9.,])|\+-", "±", tidy(text))
    return re.sub(r"^[⌀Øø∅] ?(?=[0-9])", "", plain)


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


def _one_sided(text: str, found: re.Match[str]) -> Limits:
    groups = found.groupdict()
    is_upper = (groups["word"] or "").casefold() == "max" or groups.get("sign") in ("≤", "<=")
    bound = _with_unit(found["value"], text)
    lower, upper = (None, bound.value) if is_upper else (bound.value, None)
    fractions = bool(_FRACTION.search(found["value"]))
    return checked(Limits(text, lower, upper, None, bound.unit, bound.decimals, fractions=fractions))


def _range(text: str, plain: str) -> Limits:
    parts = plain.split(" to ")
    if len(parts) != 2:
        raise _not_understood(plain)
    second = _with_unit(parts[1], text)
    first = parse_quantity(parts[0], second.unit)
    second = second.to(first.unit)
    decimals = max(first.decimals, second.decimals)
    fractions = any(_FRACTION.search(part) for part in parts)
    return checked(Limits(text, first.value, second.value, None, first.unit, decimals, fractions=fractions))


def _with_unit(value: str, text: str) -> Quantity:
    try:
        return parse_quantity(value)
    except Unreadable as problem:
        if problem.code != "UNT001":
            raise
    raise Unreadable("LIM001", f"limits {text!r} have no unit", f"write the unit, like '{tidy(text)} mm'")


@dataclass(frozen=True, slots=True)
class Expected:
    """A tolerance around a value that is worked out elsewhere, such as a gross mass; ``unit`` is its unit."""

    text: str
    unit: str

    def limits(self, nominal: Quantity) -> Limits:
        """The limits around this value; their text is complete and can be read again.

        Raises:
            Unreadable: UNT003, the value is of another dimension.
        """
        value = nominal.to(self.unit) if self.unit != "%" else nominal
        plain = _plain(self.text)
        return parse_limits(
            f"{exact_text(value.value, value.decimals)} {value.unit}" + plain[len("expected") :]
        )


def parse_expected(text: str) -> Expected:
    """The tolerance of ``expected ± 0.4 kg``, ``expected +0.5/-0.2 kg`` or ``expected ± 1 %``.

    >>> parse_expected("expected ± 0.4 kg").limits(parse_quantity("86.21 kg")).describe()
    '85.81 to 86.61 kg'

    Raises:
        Unreadable: LIM001 to LIM004, NUM and UNT codes.
    """
    plain = _plain(text)
    divided = tolerances.parts(plain)
    if divided is None or divided[0].casefold() != "expected":
        raise Unreadable("LIM003", f"{plain!r} is not understood", "write it like 'expected ± 0.4 kg'")
    last = divided[1][-1]
    try:
        unit = parse_quantity(last).unit
    except Unreadable as problem:
        if problem.code != "UNT001":
            raise
        raise Unreadable("LIM001", f"limits {plain!r} have no unit", f"write '{plain} kg'") from None
    tolerances.around(plain, f"100 {'kg' if unit == '%' else unit}", divided[1])
    return Expected(text, unit)
