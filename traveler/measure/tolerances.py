"""A nominal value with its tolerance: ``24 N·m ± 1.5``, ``24 +2/-1 N·m``, ``45° ± 30'``, ``24 N·m ± 5 %``.

The unit may stand with the nominal, with the tolerance, or with both. A tolerance in percent is one of the
nominal, unless the nominal is a percentage itself. A tolerance in °C or °F is a difference.
"""

from __future__ import annotations

import re

from traveler.measure.bounds import Limits, checked
from traveler.measure.number import decimals_needed
from traveler.measure.quantity import Quantity, parse_quantity, split
from traveler.measure.unreadable import Unreadable

_NUMBER = r"(?:(?:[0-9]+[ -])?[0-9]+/[0-9]+|[0-9.,]+(?:[eE][+-]?[0-9]+)?)"
_DEVIATIONS = re.compile(
    rf"(?P<nominal>.*?[^ +-]) ?(?P<first>[+-] ?{_NUMBER}(?: ?[^0-9 +/-][^0-9+/-]*)?|0) ?"
    rf"/ ?(?P<second>[+-] ?{_NUMBER}(?: ?[^0-9 +-].*)?|0(?: ?[^0-9 +.,-].*)?)"
)
_FRACTION = re.compile(r"[0-9]/[0-9]")


def parts(plain: str) -> tuple[str, tuple[str, ...]] | None:
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


def around(text: str, nominal_text: str, deviation_texts: tuple[str, ...]) -> Limits:
    """Limits from a nominal and its one tolerance or two deviations, each as text; ``text`` is the whole.

    Raises:
        Unreadable: LIM001 no unit anywhere, LIM002, LIM003, LIM004, NUM and UNT codes.
    """
    nominal, deviations = _read(text, nominal_text, deviation_texts)
    values = [one.value for one in deviations]
    if len(values) == 1:
        values = [-values[0], values[0]]
    elif re.match("[0-9]", deviation_texts[0]) and re.match("[0-9]", deviation_texts[1]):
        raise Unreadable("LIM003", f"{text!r} has two deviations without a sign", "write '+2/-1'")
    lower, upper = nominal.value + min(values), nominal.value + max(values)
    decimals = max(nominal.decimals, *(one.decimals for one in deviations))
    fractions = any(_FRACTION.search(part) for part in (nominal_text, *deviation_texts))
    return checked(Limits(text, lower, upper, nominal.value, nominal.unit, decimals, fractions=fractions))


def _read(text: str, nominal_text: str, deviation_texts: tuple[str, ...]) -> tuple[Quantity, list[Quantity]]:
    last = _unit_of(deviation_texts[-1])
    if not last and not _unit_of(nominal_text):
        raise Unreadable("LIM001", f"limits {text!r} have no unit", f"write the unit, like '{text} mm'")
    nominal = parse_quantity(nominal_text, last or None)
    beside = nominal.unit if last in ("", "'", '"') else last
    return nominal, [_deviation(part, beside, nominal) for part in deviation_texts]


def _deviation(part: str, beside: str, nominal: Quantity) -> Quantity:
    one = parse_quantity(part, beside)
    if one.unit == "%" and nominal.unit != "%":
        value = nominal.value * one.value / 100
        return Quantity(value, nominal.unit, part, decimals_needed(value) or 0)
    return one.difference_to(nominal.unit)


def _unit_of(part: str) -> str:
    """The text of the unit; ``deg`` for degrees written with their sign."""
    return "deg" if re.search(r"°(?! ?[CF])", part) and "/" not in part else split(part)[1]
