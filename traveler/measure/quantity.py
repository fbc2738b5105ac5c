"""Quantities: an exact number with a unit, and what was written; units, read and converted exactly.

The units of a shop stand in ``unit_table``. Any further unit is looked up in pint's registry, which is
imported only then. Products and quotients are read too: ``N·m``, ``N m``, ``N*m``, ``N-m``, ``N/mm``,
``kg/m³``, ``mm2``. One solidus at most (ISO 80000-1, 7.2.3).

Angles, levels (dB, dB(A)), hardness scales and counts are dimensions of their own here, so that a degree is
never compared with a percent. Torque and energy have one dimension (N·m is J), as in SI.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any

from traveler.measure.number import (
    Number,
    Unreadable,
    decimals_needed,
    display_number,
    parse_number,
    tidy,
)
from traveler.measure.unit_table import ALIASES, ATOMS, PI, POINTS, Dimension
from traveler.text import nearest

_HEAD = re.compile(
    r"[+-]?(?:[0-9]+[ -])?[0-9]+/[0-9]+(?![0-9.,_])"
    r"|[+-]?[0-9.,_]*[0-9_][.,]?(?:[eE][+-]?[0-9]+)?(?![0-9_])"
)
_ARC = re.compile(r"([+-]?)([0-9]{1,6})° ?(?:([0-9]{1,2})')? ?(?:([0-9]{1,2}(?:[.,][0-9]{1,12})?)\")?")
_ARC_SIGNS = str.maketrans("′″’”", "'\"'\"")
_SIGNS = str.maketrans({
    "μ": "µ", "\u2126": "Ω", "\u212a": "K", "º": "°", "˚": "°", "′": "'", "″": '"', "’": "'", "”": '"',
    "⋅": "·", "∙": "·", "•": "·", "*": "·", "×": "·", "∆": "Δ", "\u2103": "°C", "\u2109": "°F", "⁄": "/",
})  # fmt: skip
_QUOTES = {"turn": {"'": "arcmin", '"': "arcsec"}, "m": {"'": "ft", '"': "in"}}
_POWER = re.compile(r"(.*?[^0-9^⁻-])(?:\^(-?[1-9])|([2-4])|(⁻?)([¹²³⁴]))")
_RAISED = {"¹": 1, "²": 2, "³": 3, "⁴": 4}
_UPPER = {1: "", 2: "²", 3: "³", 4: "⁴"}


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
        symbol = parse_unit(unit).symbol
        return Quantity(convert(self.value, self.unit, symbol), symbol, self.written, self.decimals)

    def difference_to(self, unit: str) -> Quantity:
        """This difference (tolerance, uncertainty) in another unit: ``2 °C`` is ``2 K``, not ``275.15 K``.

        Raises:
            Unreadable: as :meth:`to`.
        """
        if unit == self.unit:
            return self
        symbol = parse_unit(unit).symbol
        value = convert_difference(self.value, self.unit, symbol)
        return Quantity(value, symbol, self.written, self.decimals)

    def last_digit(self, unit: str) -> Fraction:
        """A step of the last written digit, in another unit.

        Raises:
            Unreadable: as :meth:`to`.
        """
        return convert_difference(Fraction(1, 10**self.decimals), self.unit, unit)

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
        what = f"{plain!r} has no unit of measure"
        raise Unreadable("UNT001", what, f"write the unit, like {plain} mm", (len(plain), len(plain)))
    symbol = parse_unit(written_unit or unit or "", unit if written_unit else None).symbol
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


@dataclass(frozen=True, slots=True)
class UnitOfMeasure:
    """A unit: canonical symbol, dimension, and base value = value · factor + offset.

    ``kind`` is ``point`` for temperatures with a zero of their own (°C, °F), ``difference`` for
    differences of such (``delta °C``), empty for all else (K goes with both).
    """

    symbol: str
    dimension: Dimension
    factor: Fraction
    offset: Fraction = Fraction(0)
    kind: str = ""

    @property
    def zero_is_agreed(self) -> bool:
        """Whether zero is only agreed upon (°C, °F, dB): a share of a value then means nothing."""
        return self.kind == "point" or self.symbol.startswith("dB")


@lru_cache(maxsize=4096)
def parse_unit(text: str, beside: str | None = None) -> UnitOfMeasure:
    """The unit of this text. ``beside`` is the unit it stands beside: it decides what ``'`` and ``"`` mean.

    >>> parse_unit("ft-lb").symbol, parse_unit("Nm").symbol
    ('lbf·ft', 'N·m')

    Raises:
        Unreadable: UNT002 unknown unit, UNT004 ambiguous unit.
    """
    plain = "·".join(text.translate(_SIGNS).split())
    if plain in ("'", '"'):
        plain = _quote(plain, beside)
    plain = ALIASES.get(plain, plain)
    if " " not in plain:
        plain = re.sub(r"·*([·/])·*", r"\1", re.sub(r"(?<=[^\W\d])[-.](?=[^\W\d])", "·", plain))
        plain = ALIASES.get(plain, plain)
    return _named(plain) or _compound(plain, text)


def _quote(mark: str, beside: str | None) -> str:
    dimension = parse_unit(beside).dimension if beside else ()
    if len(dimension) == 1 and dimension[0][1] == 1 and dimension[0][0] in _QUOTES:
        return _QUOTES[dimension[0][0]][mark]
    either = ("ft", "arcmin") if mark == "'" else ("in", "arcsec")
    raise Unreadable(
        "UNT004", f"{mark} may mean {either[0]} or {either[1]}", f"write {either[0]} or {either[1]}"
    )


def _named(plain: str) -> UnitOfMeasure | None:
    if plain in POINTS:
        factor, offset = POINTS[plain]
        return UnitOfMeasure(plain, (("K", 1),), factor, offset, "point")
    if plain.startswith("delta ") and plain[6:] in POINTS:
        return UnitOfMeasure(plain, (("K", 1),), POINTS[plain[6:]][0], kind="difference")
    if plain in ATOMS:
        return UnitOfMeasure(plain, *ATOMS[plain])
    return None


def _compound(plain: str, text: str) -> UnitOfMeasure:
    over, _, under = plain.partition("/")
    if "/" in under:
        raise Unreadable("UNT002", f"unit {text!r} has more than one /", "write a/(b·c) as a/b·c")
    bases: dict[str, int] = {}
    factor, spelling = Fraction(1), []
    for part, sign in ((over, 1), (under, -1)):
        symbols = []
        for word in ALIASES.get(part, part).split("·") if part and part != "1" else ():
            unit, power = _raised(word, text)
            for base, exponent in unit.dimension:
                bases[base] = bases.get(base, 0) + sign * power * exponent
            factor *= unit.factor ** (sign * power)
            symbols.append(unit.symbol.removeprefix("delta ") + _UPPER.get(power, f"^{power}"))
        spelling.append("·".join(symbols))
    if not any(spelling):
        raise _unknown(text)
    symbol = (spelling[0] or "1") + (f"/{spelling[1]}" if spelling[1] else "")
    dimension = tuple(sorted((base, power) for base, power in bases.items() if power))
    return UnitOfMeasure(symbol, dimension, factor)


def _raised(word: str, text: str) -> tuple[UnitOfMeasure, int]:
    power = 1
    if word not in ATOMS and (found := _POWER.fullmatch(word)):
        word = found[1]
        digits = found[2] or found[3]
        power = int(digits) if digits else _RAISED[found[5]] * (-1 if found[4] else 1)
    word = ALIASES.get(word, word)
    unit = _named(word) or _further(word)
    if unit is None:
        raise _unknown(text)
    return unit, power


def _further(word: str) -> UnitOfMeasure | None:
    if len(word) < 3 or not re.fullmatch(r"[A-Za-z_]{3,40}[0-9]*", word):
        return None
    found = _look_up(word)
    return None if found is None else UnitOfMeasure(word, *found)


def _unknown(text: str) -> Unreadable:
    plain = text.translate(_SIGNS).strip()
    known = [*ATOMS, *POINTS, *ALIASES]
    if plain in ("C", "F"):
        return Unreadable("UNT004", f"unit {plain!r} may be a temperature or not", f"write °{plain}")
    meant = nearest(plain, known)
    return Unreadable("UNT002", f"unit {text!r} is not known", f"did you mean {meant!r}?" if meant else "")


def convert(value: Fraction, source: str, target: str) -> Fraction:
    """The value, given in ``source``, in ``target``: exact (NIST SP 811 Appendix B).

    Raises:
        Unreadable: UNT002 or UNT004, UNT003 the units are of different dimensions.
    """
    if source == target:
        return value
    have, want = parse_unit(source), parse_unit(target)
    if not _comparable(have, want):
        raise _other_dimension(have, want)
    shift = Fraction(0) if "difference" in (have.kind, want.kind) else have.offset - want.offset
    return (value * have.factor + shift) / want.factor


def convert_difference(value: Fraction, source: str, target: str) -> Fraction:
    """A difference (tolerance, uncertainty, spread) given in ``source``, in ``target``: no zero is shifted.

    Raises:
        Unreadable: as :func:`convert`.
    """
    if source == target:
        return value
    have, want = parse_unit(source), parse_unit(target)
    if have.dimension != want.dimension:
        raise _other_dimension(have, want)
    return value * have.factor / want.factor


def _other_dimension(have: UnitOfMeasure, want: UnitOfMeasure) -> Unreadable:
    hint = f"read again in {want.symbol}"
    if have.symbol.casefold() == want.symbol.replace("·", "").casefold() or have.symbol + "f" == want.symbol:
        hint = f"did you mean {want.symbol}?"
    return Unreadable("UNT003", f"{have.symbol} cannot be compared with {want.symbol}", hint)


def same_dimension(first: str, second: str) -> bool:
    """Whether values in these two units can be compared.

    Raises:
        Unreadable: UNT002 or UNT004 for a unit that is not known.
    """
    return _comparable(parse_unit(first), parse_unit(second))


def _comparable(first: UnitOfMeasure, second: UnitOfMeasure) -> bool:
    kinds = {first.kind, second.kind}
    return first.dimension == second.dimension and kinds != {"point", "difference"}


_BASES = {
    "meter": "m", "kilogram": "kg", "gram": "kg", "second": "s", "ampere": "A", "kelvin": "K",
    "radian": "turn", "candela": "cd", "mole": "mol", "bit": "bit",
}  # fmt: skip
_SCALE = {"gram": Fraction(1, 1000), "radian": 1 / (2 * PI)}


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(non_int_type=Fraction, autoconvert_offset_to_baseunit=False)


def _look_up(name: str) -> tuple[Dimension, Fraction] | None:
    """Dimension and exact factor of a unit that pint knows by this very name; else None.

    Prefixes are left out, so that a typing error (``mmm``, ``kgs``) is not read as another unit.
    Units with an offset or a logarithm are left out as well.
    """
    registry = _registry()
    if not any(not prefix for prefix, _, _ in registry.parse_unit_name(name)):
        return None
    unit = registry.Unit(name)
    if not all(registry._units[part].is_multiplicative for part in unit._units):  # noqa: SLF001
        return None
    factor, root = registry.get_root_units(unit)
    bases: dict[str, int] = {}
    exact = Fraction(factor)
    for base, power in root._units.items():  # noqa: SLF001
        if base not in _BASES or Fraction(power).denominator != 1:
            return None
        bases[_BASES[base]] = int(power)
        exact *= _SCALE.get(base, Fraction(1)) ** int(power)
    return tuple(sorted(bases.items())), exact
