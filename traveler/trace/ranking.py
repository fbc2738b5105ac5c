"""Which factors complained units share more often than chance allows: a factor table, counted and ranked."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from traveler.result import Result
from traveler.text import listed, plural
from traveler.trace.stats.contingency import (
    Odds,
    benjamini_hochberg,
    holm,
    odds,
    smallest_attainable,
    upper_probabilities,
)
from traveler.trace.stats.numbers import chance, estimate, percent, short

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FactorsByUnit = Mapping[str, Mapping[str, Collection[str]]]
"""Unit → attribute → the values it carries: ``{"BW4-0042": {"lot": {"L-77"}, "week": {"2026-31"}}}``."""


@dataclass(frozen=True, order=True)
class Factor(Result):
    """One thing a unit may carry: ``attribute`` is its kind (lot, gauge, person, week), ``value`` which."""

    attribute: str
    value: str

    def __str__(self) -> str:
        """``lot L-77``."""
        return f"{self.attribute} {self.value}"

    @property
    def is_lot(self) -> bool:
        """Whether it is a lot of a part or of a material."""
        return self.attribute.startswith("lot of")

    def is_lot_of(self, lot: str) -> bool:
        """Whether it is this lot."""
        return self.is_lot and self.value == lot

    def carried(self, factors: Mapping[str, Collection[str]]) -> bool:
        """Whether a unit with these factors carries it."""
        return self.value in factors.get(self.attribute, ())


@dataclass(frozen=True)
class FactorTable:
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

    def overlapping(self, group: int, share: Fraction) -> tuple[Factor, ...]:
        """Factors of other groups with mostly the same units: common units over units that carry either."""
        import numpy as np

        both = self.among(self.carrying(group))
        either = np.array(self.carriers, dtype=np.int64) + self.carriers[group] - both
        close = np.flatnonzero(both * share.denominator >= either * share.numerator)
        return tuple(factor for other in close if other != group for factor in self.groups[other])


def factor_table(units: FactorsByUnit) -> FactorTable:
    """Lay out who carries what; to be kept when several sets of complained units are asked about."""
    import numpy as np

    names = tuple(sorted(units))
    groups = _grouped(units, names)
    sizes = [len(carrying) for _, carrying in groups]
    return FactorTable(
        units=names,
        groups=tuple(factors for factors, _ in groups),
        carriers=sizes,
        unit_of=np.fromiter((unit for _, carrying in groups for unit in carrying), dtype=np.int64),
        group_of=np.repeat(np.arange(len(groups), dtype=np.int64), sizes),
    )


def _grouped(
    units: FactorsByUnit, names: tuple[str, ...]
) -> list[tuple[tuple[Factor, ...], tuple[int, ...]]]:
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


ALPHA = Decimal("0.05")
FEW = 5
"""Complained units below which the answer opens with a warning (common practice, no source)."""
ALIKE = Fraction(8, 10)
"""Share of common units (of those that carry either) from which two factors are called hard to tell apart."""


@dataclass(frozen=True)
class SharedFactor(Result):
    """One factor, or several carried by exactly the same units, which no count can tell apart.

    ``hits`` of the ``complained`` units carry it, ``carriers`` of all ``units`` do. ``p`` is Fisher's,
    one-sided; ``p_holm`` after correction for all that were compared (the one to go by), ``p_bh`` as false
    discovery rate. ``compared`` is False where so few or so many units carry it that no outcome could
    stand out. ``alike`` are other factors with mostly the same units. ``besides`` is Fisher's p among the
    units that do not carry the first in rank: what is left of this factor when that one is put aside; None
    for the first itself.
    """

    rank: int
    factors: tuple[Factor, ...]
    hits: int
    complained: int
    carriers: int
    units: int
    compared: bool
    p: Decimal
    p_holm: Decimal
    p_bh: Decimal
    odds: Odds
    alike: tuple[Factor, ...]
    besides: Decimal | None

    @property
    def convincing(self) -> bool:
        """Whether it is commoner among complained units than chance, after correction, would allow."""
        return self.p_holm < ALPHA

    @property
    def sentence(self) -> str:
        """The factor in one or two plain sentences."""
        said = [self._counts(), *self._cautions()]
        return " ".join(said)

    def _counts(self) -> str:
        names = listed([str(factor) for factor in self.factors])
        without = f"{self.complained - self.hits} of {self.units - self.carriers} without it"
        text = f"{names}: {self.hits} of {plural(self.carriers, 'unit')} complained, {without}"
        ratio = self.odds.ratio
        times = f"; odds {short(ratio, 2)} times as high" if ratio is not None and ratio > 0 else ""
        after = "after correction" if self.compared else "group too small to reach significance"
        return f"{text}{times} ({chance(self.p)}, {chance(self.p_holm)} {after})."

    def _cautions(self) -> list[str]:
        said = []
        if len(self.factors) > 1:
            said.append("Exactly the same units carry them, so the record cannot show which one matters.")
        if self.alike:
            said.append(f"Almost the same units carry {listed([str(factor) for factor in self.alike])}.")
        if self.convincing and self.besides is not None and self.besides >= ALPHA:
            said.append("It is not significant without the units of rank 1.")
        return said


@dataclass(frozen=True)
class FactorRanking(Result):
    """The ranking: most striking first. ``compared`` groups of factors took part out of ``groups``."""

    units: int
    complained: int
    factors: int
    groups: int
    compared: int
    ranked: tuple[SharedFactor, ...]
    sentences: tuple[str, ...]

    @property
    def convincing(self) -> tuple[SharedFactor, ...]:
        """The significant ones, in rank order."""
        return tuple(shared for shared in self.ranked if shared.convincing)


Correction = Callable[[Sequence[Decimal]], tuple[Decimal, ...]]


def rank_factors(
    units: FactorsByUnit | FactorTable, complained: Collection[str], *, show: int = 20
) -> FactorRanking:
    """Rank what complained units share against how common it is among the others.

    Factors carried by exactly the same units are one group. Groups that could not stand out whatever the
    complaints are left out of the correction; the sizes of the groups alone decide that (Tarone 1990), so the
    promise of Holm's method holds: with nothing to find, at most one ranking in twenty names anything.

    Args:
        units: the units that could have been complained about (those with customers) and what they carry.
        complained: those of them with the complaint in question; one symptom at a time finds more.
        show: how many groups to return at least, if complained units carry so many; all convincing ones are.

    Sources: Fisher 1935; Tarone 1990; Holm 1979; Benjamini and Hochberg 1995.

    Raises:
        ValueError: a complained unit is not among the units.
    """
    carriers = units if isinstance(units, FactorTable) else factor_table(units)
    table = _Table.of(carriers, complained)
    compared = table.comparable()
    p = [estimate(probability) for probability in upper_probabilities(table.hits, *table.margins)]
    p_holm, p_bh = (_corrected(p, compared, method) for method in (holm, benjamini_hochberg))
    order = sorted(range(len(p)), key=lambda at: (p_holm[at], p[at], -table.hits[at], at))
    most = max(show, sum(value < ALPHA for value in p_holm))
    shown = [at for at in order[:most] if table.hits[at]]
    tested = set(compared)
    ranked = tuple(
        SharedFactor(
            rank, carriers.groups[at], table.hits[at], table.complained, carriers.carriers[at], table.units,
            at in tested, p[at], p_holm[at], p_bh[at], table.odds(at), carriers.overlapping(at, ALIKE),
            besides,
        )
        for rank, (at, besides) in enumerate(zip(shown, table.besides(shown), strict=True), start=1)
    )  # fmt: skip
    factors = sum(len(group) for group in carriers.groups)
    return FactorRanking(
        table.units, table.complained, factors, len(carriers.groups), len(compared), ranked,
        sentences=_sentences(table, len(compared), ranked),
    )  # fmt: skip


@dataclass(frozen=True)
class _Table:
    """The four counts behind every group's two-by-two table."""

    carriers: FactorTable
    mask: NDArray[np.bool_]
    hits: list[int]
    complained: int
    units: int

    @classmethod
    def of(cls, carriers: FactorTable, complained: Collection[str]) -> _Table:
        mask = carriers.chosen(complained)
        return cls(carriers, mask, carriers.among(mask).tolist(), int(mask.sum()), len(mask))

    @property
    def margins(self) -> tuple[list[int], int, int]:
        return self.carriers.carriers, self.complained, self.units

    def comparable(self) -> list[int]:
        """The groups that could stand out: k is the fewest such that only k could reach α/k (Tarone 1990).

        None with fewer than two complained units: one alone shares nothing.
        """
        if self.complained < 2:
            return []
        best = smallest_attainable(*self.margins)
        rising, alpha = sorted(best), float(ALPHA)
        k = next((k for k in range(1, len(rising) + 1) if bisect_right(rising, alpha / k) <= k), 1)
        return [at for at, value in enumerate(best) if value <= alpha / k]

    def odds(self, group: int) -> Odds:
        return odds(self.hits[group], self.carriers.carriers[group], self.complained, self.units)

    def besides(self, groups: list[int]) -> list[Decimal | None]:
        """Fisher's p of each group among the units that do not carry the first; None for the first."""
        if not groups:
            return []
        first, *others = groups
        aside = ~self.carriers.carrying(first)
        carriers, hits = self.carriers.among(aside), self.carriers.among(aside & self.mask)
        tails = upper_probabilities(
            [int(hits[at]) for at in others],
            [int(carriers[at]) for at in others],
            self.complained - self.hits[first],
            self.units - self.carriers.carriers[first],
        )
        return [None, *(estimate(tail) for tail in tails)]


def _corrected(p: list[Decimal], compared: list[int], method: Correction) -> list[Decimal]:
    """The probabilities of the compared groups corrected, 1 for all others."""
    corrected = [Decimal(1)] * len(p)
    for at, value in zip(compared, method([p[at] for at in compared]), strict=True):
        corrected[at] = value
    return corrected


def _sentences(table: _Table, compared: int, ranked: tuple[SharedFactor, ...]) -> tuple[str, ...]:
    share = f"{table.complained} of {plural(table.units, 'unit')}"
    if table.complained == 0:
        return ("No unit has this complaint: nothing to compare.",)
    if table.complained == table.units:
        return (f"All {plural(table.units, 'unit')} complained: no unit is left to compare with.",)
    said = []
    if table.complained < FEW:
        having = "Only 1 unit has" if table.complained == 1 else f"Only {table.complained} units have"
        said.append(f"{having} this complaint: too few to conclude anything.")
    if compared == 0:
        return (
            *said,
            f"No factor can reach significance with {share}.",
        )
    said.append(
        f"{share} have this complaint ({percent(Fraction(table.complained, table.units))}); "
        f"{plural(compared, 'group')} of factors compared of {len(table.carriers.groups)}."
    )
    found = [shared for shared in ranked if shared.convincing]
    if not found:
        said.append("No factor is more frequent than chance allows after so many comparisons.")
    else:
        said.append("Unlikely to be chance. Investigate; this does not prove a cause:")
        said += [shared.sentence for shared in found]
    return tuple(said)
