r"""Exact numbers: as people write them, read, written, rounded, and their roots.

==============  ==================================================================================
written         read as
==============  ==================================================================================
``0.050``       1/20, three decimals (written digits are remembered)
``.5``          1/2; but ``5.`` is refused
``0,05``        1/20: one comma and no point is a decimal comma
``1,250``       refused: a comma before exactly three digits, after one to three digits that do not
                start with 0, may group thousands
``1,250.5``     refused, as is every second mark
``5e-2``        1/20, two decimals
``1 3/8``       11/8; ``1-3/8`` and ``3/8`` too, the fraction of a mixed number below one
``1_000``       refused, as is any digit that is not 0 to 9
==============  ==================================================================================

Signs are ``+``, ``-`` and U+2212. White space around a number does not count. At most 40 digits are read on
each side of the mark, and a power of ten within ±30. This keeps a hostile file cheap.

Ties are rounded to the even digit (ISO 80000-1:2009 Annex B, rule A; ASTM E29-13 clause 6.4).
"""

from __future__ import annotations

import re
from fractions import Fraction
from math import ceil, floor, isqrt
from typing import NamedTuple

PLACES = 30
"""Decimal places kept of a result that is not exact; far below anything that can be measured."""

_ROOT_DIGITS = 60
_LONGEST = 200
_POWER = 30
_FRACTION = re.compile(r"([+-]?)(?:([0-9]{1,40})[ -])?([0-9]{1,40})/([0-9]{1,40})")
_DECIMAL = re.compile(r"([+-]?)([0-9]{0,40})(?:([.,])([0-9]{1,40}))?(?:[eE]([+-]?[0-9]{1,3}))?")
_GROUPED = re.compile(r"[+-]?[0-9]{1,3}(?:([.,])[0-9]{3})(?:\1[0-9]{3})*(?:[.,][0-9]*)?")
_TIDY = str.maketrans({"−": "-", "\u2044": "/"})


class Unreadable(ValueError):
    """A text (number, unit, limits) that cannot be read, or values that do not go together.

    The caller turns it into a finding with a place. ``code`` is three letters and three digits
    (``docs/measurement.md``). ``what`` says what was found and what was expected, ``hint`` what to write
    instead. ``span`` is the part of the text (start, end) where that is known.
    """

    def __init__(self, code: str, what: str, hint: str = "", span: tuple[int, int] | None = None) -> None:
        super().__init__(f"{code} {what}; {hint}" if hint else f"{code} {what}")
        self.code = code
        self.what = what
        self.hint = hint
        self.span = span


class Number(NamedTuple):
    """An exact number and how many decimals it was written with."""

    value: Fraction
    decimals: int


def tidy(text: str) -> str:
    """The text with one kind of minus and single spaces, none at its ends.

    Raises:
        Unreadable: NUM003, the text is longer than 200 characters.
    """
    if len(text) > _LONGEST:
        what = f"{text[:20]!r}… is {len(text)} characters long, and at most {_LONGEST} are read"
        raise Unreadable("NUM003", what, "shorten it")
    return " ".join(text.translate(_TIDY).split())


def parse_number(text: str) -> Number:
    """The exact value and the number of decimals of a written number.

    A fraction counts the decimals it needs (``3/8`` has three), or six when it never ends.

    >>> parse_number("0,050")
    Number(value=Fraction(1, 20), decimals=3)

    Raises:
        Unreadable: NUM001 not a number, NUM002 ambiguous comma, NUM003 too long or too large.
    """
    plain = tidy(text)
    if found := _FRACTION.fullmatch(plain):
        return _fraction(plain, *found.groups())
    found = _DECIMAL.fullmatch(plain)
    if found is None or not (found[2] or found[4]):
        raise _not_a_number(plain)
    sign, whole, mark, part, power = found.groups()
    if mark == "," and len(part) == 3 and 1 <= len(whole) <= 3 and whole[0] != "0":
        point, joined = plain.replace(",", "."), plain.replace(",", "")
        what, hint = f"{plain!r} may mean {point} or {joined}", f"write {point} or {joined}"
        raise Unreadable("NUM002", what, hint, (0, len(plain)))
    return _decimal(plain, sign, whole, part or "", int(power or 0))


def _decimal(plain: str, sign: str, whole: str, part: str, power: int) -> Number:
    if abs(power) > _POWER:
        what = f"{plain!r} is beyond 1e{_POWER} or below 1e-{_POWER}"
        raise Unreadable("NUM003", what, "write it in a fitting unit")
    digits = int(whole + part)
    down = len(part) - power
    value = Fraction(digits, 10**down) if down > 0 else Fraction(digits * 10**-down)
    return Number(-value if sign == "-" else value, max(down, 0))


def _fraction(plain: str, sign: str, whole: str | None, over: str, under: str) -> Number:
    top, bottom = int(over), int(under)
    if bottom == 0 or (whole is not None and top >= bottom):
        raise Unreadable("NUM001", f"{plain!r} is not a fraction", "write it like 3/8 or 1 3/8")
    value = int(whole or 0) + Fraction(top, bottom)
    needed = decimals_needed(value)
    return Number(-value if sign == "-" else value, 6 if needed is None else needed)


def _not_a_number(plain: str) -> Unreadable:
    if _GROUPED.fullmatch(plain):
        hint = "write it without marks between thousands, with a decimal point"
        return Unreadable("NUM002", f"{plain!r} has more than one mark", hint, (0, len(plain)))
    if len(plain) > 40 and re.fullmatch(r"[+-]?[0-9.,]+", plain):
        what = f"{plain[:20]!r}… has more than 40 digits on one side of the mark"
        return Unreadable("NUM003", what, "shorten it")
    hint = "write digits with a decimal point, like 0.05"
    if re.fullmatch(r"[+-]?[0-9]+[.,]", plain):
        hint = f"write {plain[:-1]} or {plain[:-1]}.0"
    elif "_" in plain:
        hint = f"write {plain.replace('_', '')}"
    return Unreadable("NUM001", f"{plain!r} is not a number", hint, (0, len(plain)))


def decimals_needed(value: Fraction) -> int | None:
    """How many decimals write the value exactly; None if none do (``1/3``)."""
    rest = value.denominator
    twos = (rest & -rest).bit_length() - 1
    rest >>= twos
    fives = 0
    while rest % 5 == 0:
        rest //= 5
        fives += 1
    return max(twos, fives) if rest == 1 else None


def to_decimals(value: Fraction, decimals: int = PLACES) -> Fraction:
    """The value rounded to this many decimals."""
    return Fraction(round(value * 10**decimals), 10**decimals)


def round_to(value: Fraction, step: Fraction) -> Fraction:
    """The multiple of ``step`` (above 0) nearest to the value.

    >>> round_to(Fraction("12.25"), Fraction("0.1"))
    Fraction(61, 5)
    """
    return round(value / step) * step


def inward(
    lower: Fraction | None, upper: Fraction | None, decimals: int
) -> tuple[Fraction | None, Fraction | None]:
    """The bounds rounded to this many decimals so that they never admit more: lower up, upper down."""
    scale = 10**decimals
    return (
        None if lower is None else Fraction(ceil(lower * scale), scale),
        None if upper is None else Fraction(floor(upper * scale), scale),
    )


def square_root(number: Fraction) -> Fraction:
    """The square root: exact if the number is the square of a fraction, else to sixty digits.

    >>> square_root(Fraction(9, 16))
    Fraction(3, 4)

    Raises:
        ValueError: the number is negative.
    """
    product = number.numerator * number.denominator
    whole = isqrt(product)
    if whole * whole == product:
        return Fraction(whole, number.denominator)
    scale = 10**_ROOT_DIGITS
    return Fraction(isqrt(product * scale * scale), number.denominator * scale)


def length(squared: Fraction) -> Fraction:
    """The length whose square is given: exact where possible, else to ``PLACES`` decimals.

    A flatness of exactly 0.012 mm must come out as exactly 0.012 mm: it is compared with 0.012 mm.
    """
    found = square_root(squared)
    return found if found * found == squared else to_decimals(found)


def format_number(value: Fraction, decimals: int) -> str:
    """The value with this many decimals; never ``-0``.

    >>> format_number(Fraction(11, 8), 2)
    '1.38'
    """
    scaled = round(value * 10**decimals)
    sign, digits = ("-" if scaled < 0 else ""), str(abs(scaled)).rjust(decimals + 1, "0")
    return f"{sign}{digits[:-decimals]}.{digits[-decimals:]}" if decimals else sign + digits


def exact_text(value: Fraction, decimals: int = 0) -> str:
    """The value exactly, with at least this many decimals; as a fraction when decimals never end.

    ``parse_number`` reads it back to the same value (up to 40 digits on each side).

    >>> exact_text(Fraction(127, 2500), 3), exact_text(Fraction(1, 3))
    ('0.0508', '1/3')
    """
    needed = decimals_needed(value)
    return str(value) if needed is None else format_number(value, max(needed, decimals))


def display_number(value: Fraction, decimals: int = 0) -> str:
    """The value for people: exact when six more decimals than asked do it, else rounded to those.

    >>> display_number(Fraction(1, 3), 1)
    '0.3333333'
    """
    needed = decimals_needed(value)
    if needed is None or needed > decimals + 6:
        return format_number(value, decimals + 6)
    return format_number(value, max(needed, decimals))


def arc_text(degrees: Fraction) -> str:
    """An angle in degrees as degrees, minutes and seconds (decimals of a second to six places).

    >>> arc_text(Fraction(181, 6))
    "30° 10'"
    """
    minutes, second = divmod(to_decimals(abs(degrees) * 3600, 6), 60)
    whole, minute = divmod(minutes, 60)
    tail = f' {display_number(second)}"' if second else ""
    return f"{'-' if degrees < 0 else ''}{whole}° {minute}'{tail}"
