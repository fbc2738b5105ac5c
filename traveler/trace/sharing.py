"""What complained units share: the question "which other units?", answered by counting.

Every unit carries factors: a lot, a gauge, a person, a week, a revision, a reading near a limit. A factor
that is commoner among complained units than among the others may be the cause. With hundreds of factors
some will look commoner by chance alone, so each is judged by Fisher's exact test and corrected for how
many there were to look at.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from traveler.trace.carriers import Carriers, Factor, Units, lay_out
from traveler.trace.statistics.exact import estimate
from traveler.trace.statistics.fisher import smallest_attainable, upper_probabilities
from traveler.trace.statistics.many_comparisons import benjamini_hochberg, holm
from traveler.trace.statistics.odds import Odds, odds
from traveler.trace.statistics.result import Result
from traveler.trace.statistics.wording import chance, counted, listed, percent, short

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

ALPHA = Decimal("0.05")
FEW = 5
"""Complained units below which the answer opens with a warning (common practice, no source)."""
ALIKE = Fraction(8, 10)
"""Share of common units (of those that carry either) from which two factors are called hard to tell apart."""


@dataclass(frozen=True)
class Shared(Result):
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
        names = listed([str(one) for one in self.factors])
        without = f"{self.complained - self.hits} of {self.units - self.carriers} without it"
        text = f"{names}: {self.hits} of {counted(self.carriers, 'unit')} complained, {without}"
        ratio = self.odds.ratio
        times = f"; odds {short(ratio, 2)} times as high" if ratio is not None and ratio > 0 else ""
        after = "after correction" if self.compared else "too small a group to stand out"
        return f"{text}{times} ({chance(self.p)}, {chance(self.p_holm)} {after})."

    def _cautions(self) -> list[str]:
        said = []
        if len(self.factors) > 1:
            said.append("They are carried by exactly the same units: the record cannot tell which it is.")
        if self.alike:
            said.append(f"Mostly the same units carry {listed([str(one) for one in self.alike])}.")
        if self.convincing and self.besides is not None and self.besides >= ALPHA:
            said.append("Without the units of the first in rank nothing is left of it.")
        return said


@dataclass(frozen=True)
class Sharing(Result):
    """The ranking: most striking first. ``compared`` groups of factors took part out of ``groups``."""

    units: int
    complained: int
    factors: int
    groups: int
    compared: int
    ranked: tuple[Shared, ...]
    sentences: tuple[str, ...]

    @property
    def convincing(self) -> tuple[Shared, ...]:
        """Those beyond chance, in rank order; empty when the numbers stay silent."""
        return tuple(one for one in self.ranked if one.convincing)


Correction = Callable[[Sequence[Decimal]], tuple[Decimal, ...]]


def rank_shared(units: Units | Carriers, complained: Collection[str], *, show: int = 20) -> Sharing:
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
    carriers = units if isinstance(units, Carriers) else lay_out(units)
    table = _Table.of(carriers, complained)
    compared = table.comparable()
    p = [estimate(one) for one in upper_probabilities(table.hits, *table.margins)]
    p_holm, p_bh = (_corrected(p, compared, method) for method in (holm, benjamini_hochberg))
    order = sorted(range(len(p)), key=lambda at: (p_holm[at], p[at], -table.hits[at], at))
    most = max(show, sum(one < ALPHA for one in p_holm))
    shown = [at for at in order[:most] if table.hits[at]]
    tested = set(compared)
    ranked = tuple(
        Shared(
            rank, carriers.groups[at], table.hits[at], table.complained, carriers.carriers[at], table.units,
            at in tested, p[at], p_holm[at], p_bh[at], table.odds(at), carriers.alike(at, ALIKE),
            besides,
        )
        for rank, (at, besides) in enumerate(zip(shown, table.besides(shown), strict=True), start=1)
    )  # fmt: skip
    factors = sum(len(group) for group in carriers.groups)
    return Sharing(
        table.units, table.complained, factors, len(carriers.groups), len(compared), ranked,
        sentences=_sentences(table, len(compared), ranked),
    )  # fmt: skip


@dataclass(frozen=True)
class _Table:
    """The four counts behind every group's two-by-two table."""

    carriers: Carriers
    mask: NDArray[np.bool_]
    hits: list[int]
    complained: int
    units: int

    @classmethod
    def of(cls, carriers: Carriers, complained: Collection[str]) -> _Table:
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
        return [at for at, one in enumerate(best) if one <= alpha / k]

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
        return [None, *(estimate(one) for one in tails)]


def _corrected(p: list[Decimal], compared: list[int], method: Correction) -> list[Decimal]:
    """The probabilities of the compared groups corrected, 1 for all others."""
    corrected = [Decimal(1)] * len(p)
    for at, one in zip(compared, method([p[at] for at in compared]), strict=True):
        corrected[at] = one
    return corrected


def _sentences(table: _Table, compared: int, ranked: tuple[Shared, ...]) -> tuple[str, ...]:
    complained = counted(table.complained, "complained unit")
    if table.complained == 0:
        return ("No complained unit: nothing to compare.",)
    if table.complained == table.units:
        return (f"All {counted(table.units, 'unit')} complained: there is nobody to compare with.",)
    said = []
    if table.complained < FEW:
        said.append(f"Only {complained}: too few to trust a silence, and a name needs care.")
    if compared == 0:
        return (*said, f"No factor could stand out with {complained} among {table.units}.")
    said.append(
        f"{complained} of {table.units} ({percent(Fraction(table.complained, table.units))}); "
        f"{counted(compared, 'group')} of factors compared of {len(table.carriers.groups)}."
    )
    found = [one for one in ranked if one.convincing]
    if not found:
        said.append("Nothing they share is more than chance would make of so many comparisons.")
    else:
        said.append("Shared beyond chance, which is a place to look and not yet a cause:")
        said += [one.sentence for one in found]
    return tuple(said)
