"""Plots of a product: every check in its tolerance, and Pareto bars."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from traveler.text import plural
from traveler.trace.plots.plot import BLACK, LIGHT, SMALLEST, Plot, empty_plot, plot_style, wrapped
from traveler.trace.stats.numbers import Number, exact, exact_all, percent
from traveler.trace.stats.proportion import Pareto

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_ROWS = 30
"""Rows that fit a page."""
FARTHEST = 1.35
"""Readings further out than this are drawn here, as an arrow."""


@dataclass(frozen=True, slots=True)
class ToleranceRow:
    """One row: its name, its readings, its limits (at least one), and a word at the right (``Ppk 1.31``)."""

    name: str
    readings: Sequence[Number]
    lower: Number | None
    upper: Number | None
    word: str = ""


def tolerance_rows(rows: Sequence[ToleranceRow], *, title: str) -> Plot:
    """The rows under each other, 170 mm wide; at most :data:`MOST_ROWS`, of more several pictures are made.

    The gray band is the tolerance, a thick line a limit. With one limit only, the band goes from it as far
    as it is from zero: the other way for a lower limit (for a limit at zero: to the reading farthest off).
    A thin line spans all readings, the box holds the middle half, the bar in it is the median; a cross is a
    reading beyond its limit, an arrow one that is off the picture.
    """
    shown = rows[:MOST_ROWS]
    with plot_style():
        figure, axes = empty_plot(170, 26 + 7.5 * max(1, len(shown)))
        axes.axvspan(0, 1, color=LIGHT, zorder=0)
        for at, row in enumerate(shown):
            _row(axes, at, row)
        axes.set_yticks(range(len(shown)), [wrapped(row.name, 76, lines=2) for row in shown])
        axes.set_ylim(max(1, len(shown)) - 0.4, -0.6)
        axes.set_xlim(1 - FARTHEST - 0.03, FARTHEST + 0.03)
        axes.set_xticks([0, 0.5, 1], ["lower limit", "middle", "upper limit"])
        axes.set_title(wrapped(title, 110))
    beyond = sum(_beyond(row) > 0 for row in shown)
    told = f"{plural(len(shown), 'check')} in their tolerances"
    return Plot(figure, f"{title}: {told}; {beyond} with readings beyond a limit.")


def _row(axes: Axes, at: int, row: ToleranceRow) -> None:
    places = sorted(_places(row))
    for edge, limit in ((0, row.lower), (1, row.upper)):
        if limit is not None:
            axes.plot([edge, edge], [at - 0.42, at + 0.42], color=BLACK, linewidth=2.2, zorder=5)
    if places:
        inside = [place for place in places if 1 - FARTHEST <= place <= FARTHEST]
        low, high = max(places[0], 1 - FARTHEST), min(places[-1], FARTHEST)
        axes.plot([low, high], [at, at], color=BLACK, linewidth=0.9)
        quarter = len(places) // 4
        left, right = places[quarter], places[len(places) - 1 - quarter]
        axes.barh(
            at, right - left, left=left, height=0.5, color="white", edgecolor=BLACK, linewidth=0.9, zorder=2
        )
        middle = places[len(places) // 2]
        axes.plot([middle] * 2, [at - 0.25, at + 0.25], color=BLACK, linewidth=2, zorder=3)
        out = [place for place in inside if not 0 <= place <= 1]
        axes.plot(out, [at] * len(out), "x", color=BLACK, markersize=5, zorder=4)
        for end, mark in ((places[0] < 1 - FARTHEST, "<"), (places[-1] > FARTHEST, ">")):
            if end:
                axes.plot([1 - FARTHEST if mark == "<" else FARTHEST], [at], mark, color=BLACK, markersize=6)
    axes.annotate(
        row.word, (1, at), xycoords=("axes fraction", "data"), xytext=(4, 0), textcoords="offset points",
        ha="left", va="center", fontsize=SMALLEST, annotation_clip=False,
    )  # fmt: skip


def _places(row: ToleranceRow) -> list[float]:
    """Where the readings lie: 0 at the lower end of the band, 1 at the upper."""
    low, high = _band(row)
    return [float((value - low) / (high - low)) for value in exact_all(row.readings)]


def _band(row: ToleranceRow) -> tuple[Fraction, Fraction]:
    low, high = (None if bound is None else exact(bound) for bound in (row.lower, row.upper))
    if low is not None and high is not None:
        return low, high
    bound = low if low is not None else high if high is not None else Fraction()
    other = Fraction() if bound else max(exact_all(row.readings), key=abs, default=Fraction(1)) or Fraction(1)
    if low is not None:
        return (bound, 2 * bound - other) if other < bound else (bound, other)
    return (2 * bound - other, bound) if other > bound else (other, bound)


def _beyond(row: ToleranceRow) -> int:
    low, high = (None if bound is None else exact(bound) for bound in (row.lower, row.upper))
    readings = exact_all(row.readings)
    return sum(
        (low is not None and reading < low) or (high is not None and reading > high) for reading in readings
    )


MOST_BARS = 15


def pareto_bars(counts: Pareto, *, title: str, most: int = MOST_BARS) -> Plot:
    """The bars in falling order, 160 mm wide, names beside them; the few that make most of it are hatched.

    Lying bars leave room for names of any length. Beyond ``most`` kinds the rest is one last bar.

    Args:
        counts: the counted kinds.
        title: what was counted.
        most: bars at most.
    """
    bars = [(bar.kind, bar.count, percent(bar.cumulative), bar.vital) for bar in counts.bars[:most]]
    rest = counts.bars[most:]
    if rest:
        bars.append((f"{len(rest)} others", sum(bar.count for bar in rest), "100 %", False))
    with plot_style():
        figure, axes = empty_plot(160, 24 + 7 * max(1, len(bars)))
        for at, (_, count, upto, vital) in enumerate(bars):
            hatch = "////" if vital else ""
            axes.barh(at, count, height=0.7, color="white", edgecolor=BLACK, linewidth=0.8, hatch=hatch)
            axes.annotate(
                f"{count}  ({upto})", (count, at), xytext=(4, 0), textcoords="offset points", va="center",
                fontsize=SMALLEST,
            )  # fmt: skip
        axes.set_yticks(range(len(bars)), [wrapped(kind, 72, lines=2) for kind, *_ in bars])
        axes.set_ylim(max(1, len(bars)) - 0.4, -0.6)
        axes.margins(x=0.18)
        axes.set_xlabel("count (share up to and with this one)")
        axes.xaxis.get_major_locator().set_params(integer=True)
        axes.set_title(wrapped(title, 110))
    return Plot(figure, f"Pareto of {title}. {counts.sentence}")
