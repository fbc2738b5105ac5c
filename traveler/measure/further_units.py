"""Units beyond the shop's own table, from pint's registry, with exact arithmetic (``Fraction``)."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import Any

from traveler.measure.shop_units import PI, Dimension

_BASES = {
    "meter": "m", "kilogram": "kg", "gram": "kg", "second": "s", "ampere": "A", "kelvin": "K",
    "radian": "turn", "candela": "cd", "mole": "mol", "bit": "bit",
}  # fmt: skip
_SCALE = {"gram": Fraction(1, 1000), "radian": 1 / (2 * PI)}


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(non_int_type=Fraction, autoconvert_offset_to_baseunit=False)


def look_up(name: str) -> tuple[Dimension, Fraction] | None:
    """Dimension and exact factor of a unit that pint knows by this very name (no prefixes); else None.

    Prefixes are left out so that a slip of the pen (``mmm``, ``kgs``) is not read as some far-off unit.
    Units with an offset or a logarithm are left out as well.
    """
    registry = _registry()
    if not any(not prefix for prefix, _, _ in registry.parse_unit_name(name)):
        return None
    unit = registry.Unit(name)
    if not all(registry._units[part].is_multiplicative for part in unit._units):  # noqa: SLF001
        return None
    return _reduced(registry, unit)


def _reduced(registry: Any, unit: Any) -> tuple[Dimension, Fraction] | None:
    factor, root = registry.get_root_units(unit)
    bases: dict[str, int] = {}
    exact = Fraction(factor)
    for base, power in root._units.items():  # noqa: SLF001
        if base not in _BASES or Fraction(power).denominator != 1:
            return None
        bases[_BASES[base]] = int(power)
        exact *= _SCALE.get(base, Fraction(1)) ** int(power)
    return tuple(sorted(bases.items())), exact
