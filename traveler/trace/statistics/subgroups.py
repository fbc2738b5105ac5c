"""Charts of subgroups: mean and range, mean and standard deviation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from traveler.trace.statistics.constants import LARGEST_SUBGROUP, ChartConstants, chart_constants
from traveler.trace.statistics.exact import Number, exact_all
from traveler.trace.statistics.individuals import ControlLimits
from traveler.trace.statistics.result import Result
from traveler.trace.statistics.run_rules import ISO_7870_2, Pattern, Shape, Signal, signals
from traveler.trace.statistics.summary import summarize


@dataclass(frozen=True)
class SubgroupChart(Result):
    """Means with their limits, spreads (range or standard deviation) with theirs.

    ``sigma`` estimates the standard deviation of single readings within a subgroup. Limits are None where
    they cannot be drawn; ``note`` says why.
    """

    size: int
    spread: Literal["range", "sd"]
    means: tuple[Fraction, ...]
    spreads: tuple[Fraction, ...]
    limits: ControlLimits | None
    spread_limits: ControlLimits | None
    sigma: Fraction | None
    signals: tuple[Signal, ...]
    spread_signals: tuple[Signal, ...]
    note: str


def subgroup_chart(
    subgroups: Sequence[Sequence[Number]],
    *,
    spread: Literal["range", "sd"] = "range",
    patterns: Sequence[Pattern] = ISO_7870_2,
) -> SubgroupChart:
    """The chart of subgroups of one size (X̄-R with ``range``, X̄-s with ``sd``).

    The range serves up to about ten readings a subgroup, the standard deviation any number.
    Source: ISO 7870-2; ASTM E2587 (factors A2, D3, D4; A3, B3, B4).

    Raises:
        ValueError: subgroups of different sizes, of one reading, or of more than a hundred.
    """
    groups = [exact_all(group) for group in subgroups]
    sizes = {len(group) for group in groups}
    if len(sizes) > 1 or (sizes and not 2 <= max(sizes) <= LARGEST_SUBGROUP):
        msg = f"subgroups must be of one size, 2 to {LARGEST_SUBGROUP} readings; got {sorted(sizes)}"
        raise ValueError(msg)
    size = max(sizes, default=0)
    means = tuple(sum(group, Fraction()) / size for group in groups)
    spreads = tuple(_spread(group, spread) for group in groups)
    mean_spread = sum(spreads, Fraction()) / len(spreads) if spreads else Fraction()
    if not mean_spread:
        note = "no subgroup varies within itself: no limits" if groups else "no subgroup"
        return SubgroupChart(size, spread, means, spreads, None, None, None, (), (), note)
    limits, spread_limits = _limits(means, mean_spread, chart_constants(size), spread)
    return SubgroupChart(
        size, spread, means, spreads, limits, spread_limits,
        sigma=mean_spread / Fraction(getattr(chart_constants(size), "d2" if spread == "range" else "c4")),
        signals=signals([(one - limits.centre) / limits.sigma for one in means], patterns),
        spread_signals=_beyond(spreads, spread_limits),
        note="limits from few subgroups are provisional" if len(groups) < 20 else "",
    )  # fmt: skip


def _spread(group: tuple[Fraction, ...], kind: Literal["range", "sd"]) -> Fraction:
    if kind == "range":
        return max(group) - min(group)
    summary = summarize(group)
    return Fraction(summary.sd) if summary and summary.sd is not None else Fraction()


def _limits(
    means: tuple[Fraction, ...], mean_spread: Fraction, known: ChartConstants, kind: Literal["range", "sd"]
) -> tuple[ControlLimits, ControlLimits]:
    if kind == "range":
        reach, low, high = known.a2, known.d3_lower, known.d4_upper
    else:
        reach, low, high = known.a3, known.b3_lower, known.b4_upper
    centre = sum(means, Fraction()) / len(means)
    width = Fraction(reach) * mean_spread
    upper = Fraction(high) * mean_spread
    return (
        ControlLimits(centre, centre - width, centre + width, width / 3),
        ControlLimits(mean_spread, Fraction(low) * mean_spread, upper, (upper - mean_spread) / 3),
    )


def _beyond(spreads: tuple[Fraction, ...], limits: ControlLimits) -> tuple[Signal, ...]:
    """Spreads beyond their limits; the lower limit is cut off at zero, so sides are scored apart."""
    below = limits.centre - limits.lower
    scores = [
        (one - limits.centre) / (limits.sigma if one >= limits.centre or not limits.lower else below / 3)
        for one in spreads
    ]
    return signals(scores, (Pattern(1, Shape.BEYOND, 1, 1, 3),))
