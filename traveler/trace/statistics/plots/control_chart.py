"""The individuals and moving-range chart as a picture."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from traveler.trace.statistics.exact import Number, exact
from traveler.trace.statistics.individuals import ControlLimits, IndividualsChart
from traveler.trace.statistics.plots.limit_lines import CENTRE, CONTROL, SPECIFICATION, Level, levels
from traveler.trace.statistics.plots.picture import BLACK, SMALLEST, Picture, blank, look, wrapped
from traveler.trace.statistics.run_rules import Signal

if TYPE_CHECKING:
    from matplotlib.axes import Axes

CLOSE = 0.06
"""Share of the width within which two numbers of rules would meet: the second is set higher."""
CROWDED = 150
"""Points beyond which single ones get no mark; those with a signal always do."""


def control_chart(
    chart: IndividualsChart,
    *,
    title: str,
    unit: str,
    lower: Number | None = None,
    upper: Number | None = None,
) -> Picture:
    """The chart, 170 × 92 mm: readings above, moving ranges below, one scale of units.

    Control limits are dashed, specification limits thick, points with a signal filled squares; the
    number of the rule stands at the last one and is explained below.

    Args:
        chart: the worked-out chart.
        title: what was measured.
        unit: unit of the readings.
        lower: lower specification limit, or None.
        upper: upper specification limit, or None.
    """
    with look():
        figure, (above, below) = blank(170, 92, rows=2, ratios=(2.2, 1))
        _points(above, 1, chart.readings, chart.signals)
        _points(below, 2, chart.moving_ranges, chart.range_signals)
        below.set_ylim(bottom=0)
        ends = (("lower limit", lower), ("upper limit", upper))
        limits = [Level(exact(one), name, SPECIFICATION) for name, one in ends if one is not None]
        _limits(above, chart.limits, limits, lowest=True)
        _limits(below, chart.range_limits, [], lowest=False)
        above.set_ylabel(unit)
        below.set_ylabel(f"moving range\n{unit}")
        below.set_xlabel("\n".join(["reading", *_rules(chart)]))
        below.xaxis.get_major_locator().set_params(integer=True)
        above.set_title(wrapped(title, 140))
    return Picture(figure, f"Control chart of {title}, {len(chart.readings)} readings. {chart.sentence}")


def _rules(chart: IndividualsChart) -> list[str]:
    """What the numbers at the points mean; only of rules that gave a signal."""
    known = {one.rule: one.pattern for one in (*chart.range_signals, *chart.signals)}
    return [f"■ {rule}: {pattern}" for rule, pattern in sorted(known.items())]


def _points(axes: Axes, start: int, points: Sequence[Fraction], signals: Sequence[Signal]) -> None:
    """The points joined by a line; flagged ones stand out by shape, size and a number."""
    x = range(start, start + len(points))
    y = [float(one) for one in points]
    marker = "o" if len(points) <= CROWDED else ""
    axes.plot(x, y, color=BLACK, linewidth=0.6, marker=marker, markersize=3.2, markerfacecolor="white")
    flagged = sorted({at for one in signals for at in one.flagged})
    axes.plot([start + at for at in flagged], [y[at] for at in flagged], "s", color=BLACK, markersize=5.5)
    before, high = -len(points), False
    for at in sorted({one.last for one in signals}):
        rules = ",".join(sorted({str(one.rule) for one in signals if one.last == at}))
        high = at - before < len(points) * CLOSE and not high
        axes.annotate(
            rules, (start + at, y[at]), xytext=(0, 16 if high else 5), textcoords="offset points",
            ha="right" if at > len(points) * (1 - CLOSE) else "center", fontsize=SMALLEST,
        )  # fmt: skip
        before = at


def _limits(axes: Axes, limits: ControlLimits | None, more: Sequence[Level], *, lowest: bool) -> None:
    lines = list(more)
    if limits is None:
        axes.text(0.5, 0.9, "no limits", transform=axes.transAxes, ha="center", va="top")
    else:
        lines += [Level(limits.upper, "UCL", CONTROL), Level(limits.centre, "mean", CENTRE)]
        lines += [Level(limits.lower, "LCL", CONTROL)] if lowest else []
    low, high = axes.get_ylim()
    wanted = [float(one.where) for one in lines]
    room = (max([high, *wanted]) - min([low, *wanted])) / 20
    low = min([low, *(one - room for one in wanted if one < low)])
    axes.set_ylim(low, max([high, *(one + room for one in wanted if one + room > high)]))
    levels(axes, lines)
