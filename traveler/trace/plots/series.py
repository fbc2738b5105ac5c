"""Plots of one series: control chart, histogram, readings before and after adjustments."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from traveler.text import plural
from traveler.trace.plots.plot import (
    BLACK,
    CENTRE,
    CONTROL,
    DARK,
    LIGHT,
    SMALLEST,
    SPECIFICATION,
    LevelLine,
    Plot,
    empty_plot,
    levels,
    plot_style,
    upright,
    wrapped,
)
from traveler.trace.stats.comparisons import adjustment_effect
from traveler.trace.stats.control_chart import ControlLimits, IndividualsChart, Signal
from traveler.trace.stats.numbers import Number, exact, exact_all, short
from traveler.trace.stats.summary import Summary, summarize

if TYPE_CHECKING:
    from matplotlib.axes import Axes


class Measured(NamedTuple):
    """What was measured: its title, the unit of the readings, and its limits, None where it has none."""

    title: str
    unit: str
    lower: Number | None = None
    upper: Number | None = None

    @property
    def limits(self) -> list[tuple[str, Fraction]]:
        """The limits it has, with their names."""
        ends = (("lower limit", self.lower), ("upper limit", self.upper))
        return [(name, exact(value)) for name, value in ends if value is not None]


CLOSE = 0.06
"""Share of the width within which two numbers of rules would meet: the second is set higher."""
CROWDED = 150
"""Points beyond which single ones get no mark; those with a signal always do."""


def control_chart(chart: IndividualsChart, of: Measured) -> Plot:
    """The chart, 170 × 92 mm: readings above, moving ranges below, one scale of units.

    Control limits are dashed, specification limits thick, points with a signal filled squares; the
    number of the rule stands at the last one and is explained below.
    """
    with plot_style():
        figure, (above, below) = empty_plot(170, 92, rows=2, ratios=(2.2, 1))
        _points(above, 1, chart.readings, chart.signals)
        _points(below, 2, chart.moving_ranges, chart.range_signals)
        below.set_ylim(bottom=0)
        limits = [LevelLine(limit, name, SPECIFICATION) for name, limit in of.limits]
        _control_levels(above, chart.limits, limits, lowest=True)
        _control_levels(below, chart.range_limits, [], lowest=False)
        above.set_ylabel(of.unit)
        below.set_ylabel(f"moving range\n{of.unit}")
        below.set_xlabel("\n".join(["reading", *_rules(chart)]))
        below.xaxis.get_major_locator().set_params(integer=True)
        above.set_title(wrapped(of.title, 140))
    return Plot(figure, f"Control chart of {of.title}, {len(chart.readings)} readings. {chart.sentence}")


def _rules(chart: IndividualsChart) -> list[str]:
    """What the numbers at the points mean; only of rules that gave a signal."""
    known = {signal.rule: signal.pattern for signal in (*chart.range_signals, *chart.signals)}
    return [f"■ {rule}: {pattern}" for rule, pattern in sorted(known.items())]


def _points(axes: Axes, start: int, points: Sequence[Fraction], signals: Sequence[Signal]) -> None:
    """The points joined by a line; flagged ones stand out by shape, size and a number."""
    x = range(start, start + len(points))
    y = [float(point) for point in points]
    marker = "o" if len(points) <= CROWDED else ""
    axes.plot(x, y, color=BLACK, linewidth=0.6, marker=marker, markersize=3.2, markerfacecolor="white")
    flagged = sorted({at for signal in signals for at in signal.flagged})
    axes.plot([start + at for at in flagged], [y[at] for at in flagged], "s", color=BLACK, markersize=5.5)
    before, high = -len(points), False
    for at in sorted({signal.last for signal in signals}):
        rules = ",".join(sorted({str(signal.rule) for signal in signals if signal.last == at}))
        high = at - before < len(points) * CLOSE and not high
        axes.annotate(
            rules, (start + at, y[at]), xytext=(0, 16 if high else 5), textcoords="offset points",
            ha="right" if at > len(points) * (1 - CLOSE) else "center", fontsize=SMALLEST,
        )  # fmt: skip
        before = at


def _control_levels(
    axes: Axes, limits: ControlLimits | None, more: Sequence[LevelLine], *, lowest: bool
) -> None:
    lines = list(more)
    if limits is None:
        axes.text(0.5, 0.9, "no limits", transform=axes.transAxes, ha="center", va="top")
    else:
        lines += [LevelLine(limits.upper, "UCL", CONTROL), LevelLine(limits.centre, "mean", CENTRE)]
        lines += [LevelLine(limits.lower, "LCL", CONTROL)] if lowest else []
    low, high = axes.get_ylim()
    wanted = [float(line.where) for line in lines]
    room = (max([high, *wanted]) - min([low, *wanted])) / 20
    low = min([low, *(value - room for value in wanted if value < low)])
    axes.set_ylim(low, max([high, *(value + room for value in wanted if value + room > high)]))
    levels(axes, lines)


MOST = 60


def bin_edges(readings: Sequence[Fraction]) -> tuple[Fraction, ...]:
    """Edges of equal bins, whole gauge steps wide, half a step off the readings; empty without readings.

    The width is that of Freedman and Diaconis 1981 (2 · interquartile range · n^(−1/3)), rounded to whole
    steps; the step is the smallest place the readings are written to.
    """
    if not readings:
        return ()
    in_order = sorted(readings)
    step = _step(in_order)
    low, high = in_order[0], in_order[-1]
    quarter = max(len(in_order) // 4, 0)
    spread = in_order[len(in_order) - 1 - quarter] - in_order[quarter] or (high - low)
    wanted = 2 * float(spread) / len(in_order) ** (1 / 3)
    steps = max(1, round(wanted / float(step)), math.ceil((high - low) / step / MOST))
    width = steps * step
    count = int((high - low) / width) + 1
    start = low - step / 2
    return tuple(start + at * width for at in range(count + 1))


def _step(readings: Sequence[Fraction]) -> Fraction:
    """The place readings are written to: 1/1000 for 0.041; a fifteenth of the spread for endless ones."""
    places = max(_places(reading) for reading in readings)
    if places <= 12:
        return Fraction(1, 10**places)
    return (readings[-1] - readings[0]) / 15 or Fraction(1)


def _places(reading: Fraction) -> int:
    """Decimal places needed to write the number; 99 if it never ends."""
    left = reading.denominator
    twos = fives = 0
    while left % 2 == 0:
        left, twos = left // 2, twos + 1
    while left % 5 == 0:
        left, fives = left // 5, fives + 1
    return max(twos, fives) if left == 1 else 99


def bin_counts(readings: Sequence[Fraction], edges: Sequence[Fraction]) -> tuple[int, ...]:
    """Readings in each bin."""
    filled = [0] * max(0, len(edges) - 1)
    for reading in readings:
        width = edges[1] - edges[0]
        filled[min(len(filled) - 1, int((reading - edges[0]) / width))] += 1
    return tuple(filled)


def histogram(values: Sequence[Number], of: Measured, *, curve: bool = True) -> Plot:
    """The histogram, 160 × 60 mm, with limits as thick lines and the normal curve of equal mean and spread.

    ``curve``: whether to lay the normal curve over it (leave it out where readings are not normal).
    """
    readings = exact_all(values)
    summary = summarize(readings)
    with plot_style():
        figure, axes = empty_plot(160, 60)
        edges = bin_edges(readings)
        heights = bin_counts(readings, edges)
        at, width = [float(edge) for edge in edges[:-1]], float(edges[1] - edges[0]) if edges else 1.0
        axes.bar(at, heights, width, align="edge", color=LIGHT, edgecolor=BLACK, linewidth=0.6)
        if curve and summary is not None and summary.sd:
            _curve(axes, summary, width)
        for name, limit in of.limits:
            upright(axes, limit, name)
        axes.set_xlabel(of.unit)
        axes.set_ylabel("readings")
        axes.yaxis.get_major_locator().set_params(integer=True)
        axes.set_title(wrapped(of.title, 130), pad=32 if of.limits else 6)
        _note(axes, summary)
    return Plot(figure, _description(of, summary))


def _curve(axes: Axes, summary: Summary, width: float) -> None:
    """The normal curve, dashed, in readings per bin."""
    mean, sd = float(summary.mean), float(summary.sd or 0)
    x = [mean + sd * step / 20 for step in range(-80, 81)]
    scale = summary.n * width / (sd * math.sqrt(2 * math.pi))
    y = [scale * math.exp(-(((value - mean) / sd) ** 2) / 2) for value in x]
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


def _description(of: Measured, summary: Summary | None) -> str:
    if summary is None:
        return f"Histogram of {of.title}: no reading."
    limits = [f"{name} {short(limit, 6)} {of.unit}" for name, limit in of.limits]
    against = f" against {' and '.join(limits)}" if limits else ""
    return (
        f"Histogram of {of.title}: {plural(summary.n, 'reading')} from {short(summary.smallest, 6)} to "
        f"{short(summary.largest, 6)} {of.unit}{against}."
    )


def before_after(pairs: Sequence[tuple[Number, Number]], of: Measured) -> Plot:
    """Each pair (as found, as left) as a line, 120 × 80 mm, with the specification limits."""
    both = [(float(exact(found)), float(exact(left))) for found, left in pairs]
    with plot_style():
        figure, axes = empty_plot(120, 80)
        for found, left in both:
            axes.plot([0, 1], [found, left], color=DARK, linewidth=0.5)
        axes.plot([0] * len(both), [found for found, _ in both], "o", color=BLACK, markersize=4, mfc="white")
        axes.plot([1] * len(both), [left for _, left in both], "s", color=BLACK, markersize=4)
        levels(axes, [LevelLine(limit, name, SPECIFICATION) for name, limit in of.limits])
        axes.set_xlim(-0.25, 1.25)
        axes.set_xticks([0, 1], ["as found", "as left"])
        axes.set_ylabel(of.unit)
        axes.set_title(wrapped(of.title, 95))
    said = adjustment_effect(pairs, lower=of.lower, upper=of.upper).sentence
    return Plot(figure, f"{of.title} before and after adjusting. {said}")
