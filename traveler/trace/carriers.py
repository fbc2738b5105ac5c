"""Which units carry which factors: laid out once, counted for any set of complained units."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from traveler.trace.statistics.result import Result

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Units = Mapping[str, Mapping[str, Collection[str]]]
"""Unit → attribute → the values it carries: ``{"BW4-0042": {"lot": {"L-77"}, "week": {"2026-31"}}}``."""


@dataclass(frozen=True, order=True)
class Factor(Result):
    """One thing a unit may carry: ``attribute`` is its kind (lot, gauge, person, week), ``value`` which."""

    attribute: str
    value: str

    def __str__(self) -> str:
        """``lot L-77``."""
        return f"{self.attribute} {self.value}"


@dataclass(frozen=True)
class Carriers:
    """All factors of all units. Factors with exactly the same units are one group; the order is fixed.

    ``carriers`` counts the units of each group. ``unit_of`` and ``group_of`` list every (unit, group) pair
    by index, so that any overlap is one count away.
    """

    units: tuple[str, ...]
    groups: tuple[tuple[Factor, ...], ...]
    carriers: list[int]
    unit_of: NDArray[np.int64]
    group_of: NDArray[np.int64]

    def chosen(self, names: Collection[str]) -> NDArray[np.bool_]:
        """A mask of the named units.

        Raises:
            ValueError: a name is not among the units.
        """
        import numpy as np

        wanted = set(names)
        strange = sorted(wanted.difference(self.units))
        if strange:
            msg = f"complained units that are not among the units: {', '.join(strange[:5])}"
            raise ValueError(msg)
        return np.fromiter((name in wanted for name in self.units), dtype=np.bool_, count=len(self.units))

    def carrying(self, group: int) -> NDArray[np.bool_]:
        """A mask of the units that carry the group."""
        import numpy as np

        mask = np.zeros(len(self.units), dtype=np.bool_)
        mask[self.unit_of[self.group_of == group]] = True
        return mask

    def among(self, mask: NDArray[np.bool_]) -> NDArray[np.int64]:
        """Per group: how many of the masked units carry it."""
        import numpy as np

        return np.bincount(self.group_of[mask[self.unit_of]], minlength=len(self.groups))

    def alike(self, group: int, share: Fraction) -> tuple[Factor, ...]:
        """Factors of other groups with mostly the same units: common units over units that carry either."""
        import numpy as np

        both = self.among(self.carrying(group))
        either = np.array(self.carriers, dtype=np.int64) + self.carriers[group] - both
        close = np.flatnonzero(both * share.denominator >= either * share.numerator)
        return tuple(factor for other in close if other != group for factor in self.groups[other])


def lay_out(units: Units) -> Carriers:
    """Lay out who carries what; to be kept when several sets of complained units are asked about."""
    import numpy as np

    names = tuple(sorted(units))
    groups = _grouped(units, names)
    sizes = [len(carrying) for _, carrying in groups]
    return Carriers(
        units=names,
        groups=tuple(factors for factors, _ in groups),
        carriers=sizes,
        unit_of=np.fromiter((unit for _, carrying in groups for unit in carrying), dtype=np.int64),
        group_of=np.repeat(np.arange(len(groups), dtype=np.int64), sizes),
    )


def _grouped(units: Units, names: tuple[str, ...]) -> list[tuple[tuple[Factor, ...], tuple[int, ...]]]:
    """Groups of factors with the indices of the units that carry them, by the first factor's name."""
    by_factor: dict[tuple[str, str], list[int]] = {}
    for at, name in enumerate(names):
        for attribute, values in units[name].items():
            for value in set(values):
                by_factor.setdefault((attribute, value), []).append(at)
    by_units: dict[tuple[int, ...], list[Factor]] = {}
    for attribute, value in sorted(by_factor):
        by_units.setdefault(tuple(by_factor[attribute, value]), []).append(Factor(attribute, value))
    return [(tuple(factors), carrying) for carrying, factors in by_units.items()]
