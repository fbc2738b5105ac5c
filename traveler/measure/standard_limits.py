"""Limits that name a standard: ``25 H7`` (ISO 286-2), ``120 mm ISO 2768-m`` (ISO 2768-1).

Both standards are in millimetres, so a size without a unit is one. A size in another unit is worked out in
millimetres and given back in its unit, rounded inwards to six decimals where no decimal writes it exactly.
"""

from __future__ import annotations

import re
from fractions import Fraction

from traveler.measure import iso286, iso2768, units
from traveler.measure.bounds import Limits, checked
from traveler.measure.number import decimals_needed
from traveler.measure.quantity import Quantity, parse_quantity
from traveler.measure.rounding import inward
from traveler.measure.unreadable import Unreadable

_CLASS = re.compile(r"(?P<size>[0-9].*?) ?(?P<class>(?<![A-Za-z])[A-Za-z]{1,2}[0-9]{1,2})")
_GENERAL = re.compile(
    r"(?:(?P<edge>R|radius|chamfer) ?)?(?P<size>.+?),? ISO ?2768(?:-1)?[ -]?(?P<class>[a-z])[A-Z]?"
    r"(?:,?(?: shorter)? leg (?P<leg>.+))?",
)


def of_class(text: str, plain: str) -> Limits | None:
    """Limits from a size and a class of ISO 286; None if the text is not written so.

    Raises:
        Unreadable: LIM005 outside the tables, NUM and UNT codes for the size.
    """
    found = _CLASS.fullmatch(plain)
    if found is None or not iso286.is_class(found["class"]):
        return None
    size = parse_quantity(found["size"], "mm")
    low, high = iso286.deviations(size.to("mm").value, found["class"])
    return _limits(text, size, low, high, f"ISO 286-2 {found['class']}", 3)


def general(text: str, plain: str) -> Limits:
    """Limits from a size and a class of ISO 2768-1: ``120``, ``R5``, ``chamfer 2``, ``90 deg … leg 50 mm``.

    Raises:
        Unreadable: LIM003 not understood, LIM005 outside the tables, NUM and UNT codes for the size.
    """
    found = _GENERAL.fullmatch(plain)
    if found is None:
        hint = "write '120 mm ISO 2768-m', 'R5 ISO 2768-m' or '90 deg ISO 2768-m leg 50 mm'"
        raise Unreadable("LIM003", f"{plain!r} is not understood as an ISO 2768 tolerance", hint)
    size = parse_quantity(found["size"], "mm")
    if units.same_dimension(size.unit, "deg"):
        return _angle(text, size, found["class"], found["leg"])
    kind: iso2768.Kind = "radius or chamfer" if found["edge"] else "linear"
    tolerance = iso2768.tolerance(kind, size.to("mm").value, found["class"])
    return _limits(text, size, -tolerance, tolerance, f"ISO 2768-1 {found['class']}, {kind}", 0)


def _angle(text: str, size: Quantity, tolerance_class: str, leg: str | None) -> Limits:
    if leg is None:
        what = f"{text!r} needs the length of the angle's shorter leg"
        raise Unreadable("LIM003", what, "add it, like 'leg 50 mm'")
    length = parse_quantity(leg, "mm").to("mm").value
    minutes = iso2768.tolerance("angle", length, tolerance_class)
    tolerance = units.convert_difference(minutes, "arcmin", size.unit)
    return _rounded(text, size, (-tolerance, tolerance), f"ISO 2768-1 {tolerance_class}, angle", 0)


def _limits(text: str, size: Quantity, low: Fraction, high: Fraction, source: str, decimals: int) -> Limits:
    own = tuple(units.convert_difference(one, "mm", size.unit) for one in (low, high))
    return _rounded(text, size, (own[0], own[1]), source, decimals if size.unit == "mm" else 0)


def _rounded(text: str, size: Quantity, own: tuple[Fraction, Fraction], source: str, decimals: int) -> Limits:
    low, high = size.value + own[0], size.value + own[1]
    needed = [decimals_needed(one) for one in (low, high)]
    if None in needed and size.unit != "deg":  # thirds of a degree print as minutes
        bounds = inward(low, high, 6)
        return checked(Limits(text, *bounds, size.value, size.unit, 6, source))
    most = max(size.decimals, decimals, *(one or 0 for one in needed))
    return checked(Limits(text, low, high, size.value, size.unit, most, source))
