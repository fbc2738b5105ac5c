"""Readings as found joined to readings as left."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from traveler.trace.statistics.adjusting import adjusting
from traveler.trace.statistics.exact import Number, exact
from traveler.trace.statistics.plots.limit_lines import SPECIFICATION, level
from traveler.trace.statistics.plots.picture import BLACK, DARK, Picture, blank, look, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def before_after(
    pairs: Sequence[tuple[Number, Number]],
    *,
    title: str,
    unit: str,
    lower: Number | None = None,
    upper: Number | None = None,
) -> Picture:
    """Each pair as a line from as found to as left, 120 × 80 mm, with the specification limits.

    Args:
        pairs: (as found, as left) of the same slots.
        title: what was measured.
        unit: unit of the readings.
        lower: lower limit, or None.
        upper: upper limit, or None.
    """
    both = [(float(exact(found)), float(exact(left))) for found, left in pairs]
    with look():
        figure, axes = blank(120, 80)
        for found, left in both:
            axes.plot([0, 1], [found, left], color=DARK, linewidth=0.5)
        axes.plot([0] * len(both), [found for found, _ in both], "o", color=BLACK, markersize=4, mfc="white")
        axes.plot([1] * len(both), [left for _, left in both], "s", color=BLACK, markersize=4)
        _limits(axes, lower, upper)
        axes.set_xlim(-0.25, 1.25)
        axes.set_xticks([0, 1], ["as found", "as left"])
        axes.set_ylabel(unit)
        axes.set_title(wrapped(title, 95))
    said = adjusting(pairs, lower=lower, upper=upper).sentence
    return Picture(figure, f"{title} before and after adjusting. {said}")


def _limits(axes: Axes, lower: Number | None, upper: Number | None) -> None:
    for name, limit in (("lower", lower), ("upper", upper)):
        if limit is not None:
            level(axes, exact(limit), f"{name} limit", SPECIFICATION)
