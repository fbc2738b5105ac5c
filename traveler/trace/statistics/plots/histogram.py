"""Histogram of readings between their limits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from traveler.trace.statistics.exact import Number, exact, exact_all
from traveler.trace.statistics.plots.bins import bin_edges, counts
from traveler.trace.statistics.plots.limit_lines import upright
from traveler.trace.statistics.plots.picture import BLACK, LIGHT, SMALLEST, Picture, blank, look, wrapped
from traveler.trace.statistics.summary import Summary, summarize
from traveler.trace.statistics.wording import counted, short

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def histogram(
    values: Sequence[Number],
    *,
    title: str,
    unit: str,
    lower: Number | None = None,
    upper: Number | None = None,
    curve: bool = True,
) -> Picture:
    """The histogram, 160 × 60 mm, with limits as thick lines and the normal curve of equal mean and spread.

    Args:
        values: readings.
        title: what was measured.
        unit: unit of the readings.
        lower: lower limit, or None.
        upper: upper limit, or None.
        curve: whether to lay the normal curve over it (leave it out where readings are not normal).
    """
    readings = exact_all(values)
    low, high = (None if one is None else exact(one) for one in (lower, upper))
    summary = summarize(readings)
    with look():
        figure, axes = blank(160, 60)
        edges = bin_edges(readings)
        heights = counts(readings, edges)
        at, width = [float(one) for one in edges[:-1]], float(edges[1] - edges[0]) if edges else 1.0
        axes.bar(at, heights, width, align="edge", color=LIGHT, edgecolor=BLACK, linewidth=0.6)
        if curve and summary is not None and summary.sd:
            _curve(axes, summary, width)
        upright(axes, low, "lower limit")
        upright(axes, high, "upper limit")
        axes.set_xlabel(f"{unit}")
        axes.set_ylabel("readings")
        axes.yaxis.get_major_locator().set_params(integer=True)
        axes.set_title(wrapped(title, 130), pad=32 if low is not None or high is not None else 6)
        _note(axes, summary)
    return Picture(figure, _description(title, unit, summary, low, high))


def _curve(axes: Axes, summary: Summary, width: float) -> None:
    """The normal curve, dashed, in readings per bin."""
    mean, sd = float(summary.mean), float(summary.sd or 0)
    x = [mean + sd * step / 20 for step in range(-80, 81)]
    scale = summary.n * width / (sd * math.sqrt(2 * math.pi))
    y = [scale * math.exp(-(((one - mean) / sd) ** 2) / 2) for one in x]
    axes.plot(x, y, color=BLACK, linewidth=1.1, linestyle=(0, (4, 2)))


def _note(axes: Axes, summary: Summary | None) -> None:
    if summary is None:
        axes.text(0.5, 0.5, "no reading", transform=axes.transAxes, ha="center", va="center")
        return
    sd = "" if summary.sd is None else f"\ns = {short(summary.sd)}"
    axes.annotate(
        f"n = {summary.n}\nmean = {short(summary.mean, 5)}{sd}", (1, 1), xycoords="axes fraction",
        xytext=(3, -2), textcoords="offset points", ha="left", va="top", fontsize=SMALLEST,
        annotation_clip=False,
    )  # fmt: skip


def _description(
    title: str, unit: str, summary: Summary | None, low: Fraction | None, high: Fraction | None
) -> str:
    if summary is None:
        return f"Histogram of {title}: no reading."
    ends = (("lower", low), ("upper", high))
    limits = [f"{name} limit {short(one, 6)} {unit}" for name, one in ends if one is not None]
    against = f" against {' and '.join(limits)}" if limits else ""
    return (
        f"Histogram of {title}: {counted(summary.n, 'reading')} from {short(summary.smallest, 6)} to "
        f"{short(summary.largest, 6)} {unit}{against}."
    )
