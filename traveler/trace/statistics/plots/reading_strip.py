"""One reading in its limits, among the units before and after it."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from traveler.trace.statistics.exact import Number, exact, exact_all
from traveler.trace.statistics.plots.limit_lines import upright
from traveler.trace.statistics.plots.picture import BLACK, LIGHT, SMALLEST, Picture, blank, look
from traveler.trace.statistics.wording import counted, short

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def reading_strip(
    reading: Number,
    *,
    unit: str,
    lower: Number | None = None,
    upper: Number | None = None,
    before: Sequence[Number] = (),
    after: Sequence[Number] = (),
    as_found: Number | None = None,
) -> Picture:
    """The strip, 160 × 34 mm: the tolerance as a grey band, this reading as a diamond, the others as ticks.

    Earlier units stand in the upper row, later ones in the lower. Where the reading was adjusted, an open
    diamond shows how it was found, with an arrow to how it was left.

    Args:
        reading: the reading that stands.
        unit: its unit.
        lower: lower limit, or None.
        upper: upper limit, or None.
        before: readings of the same check on units built before.
        after: readings of the same check on units built after.
        as_found: reading before the adjustment, or None.
    """
    value = exact(reading)
    low, high = (None if one is None else exact(one) for one in (lower, upper))
    earlier, later = exact_all(before), exact_all(after)
    found = None if as_found is None else exact(as_found)
    with look():
        figure, axes = blank(160, 34)
        _frame(axes, unit)
        _scale(axes, [value, *earlier, *later, *(one for one in (low, high, found) if one is not None)])
        _band(axes, low, high)
        for row, others in ((0.75, earlier), (0.25, later)):
            x = [float(one) for one in others]
            axes.plot(x, [row] * len(x), "|", color=BLACK, markersize=7, mew=0.6)
        axes.plot([float(value)] * 2, [0, 1], color=BLACK, linewidth=0.7, linestyle=":")
        if found is not None:
            _found(axes, found, value)
        axes.plot([float(value)], [0.5], "D", color=BLACK, markersize=7)
        _label(axes, value, f"{short(value, 6)} {unit}", found)
    return Picture(figure, _description(value, unit, low, high, earlier, later))


def _frame(axes: Axes, unit: str) -> None:
    axes.set_ylim(0, 1)
    axes.set_yticks([0.75, 0.25], ["before", "after"])
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    axes.set_xlabel(unit, labelpad=1)


def _scale(axes: Axes, shown: Sequence[Fraction]) -> None:
    """A scale that holds everything, with room at both ends."""
    least, most = min(shown), max(shown)
    room = (most - least) / 12 or abs(most) / 12 or Fraction(1)
    axes.set_xlim(float(least - room), float(most + room))


def _band(axes: Axes, low: Fraction | None, high: Fraction | None) -> None:
    left, right = axes.get_xlim()
    if low is not None or high is not None:
        axes.axvspan(
            left if low is None else float(low), right if high is None else float(high), color=LIGHT, zorder=0
        )
    upright(axes, low, "lower limit")
    upright(axes, high, "upper limit")


def _label(axes: Axes, value: Fraction, text: str, found: Fraction | None) -> None:
    """The reading in figures, on the side where there is room: away from as found, else toward the middle."""
    left_of = float(value) > sum(axes.get_xlim()) / 2 if found is None else found > value
    axes.annotate(
        text, (float(value), 0.5), xytext=(-8 if left_of else 8, 0), textcoords="offset points",
        ha="right" if left_of else "left", va="center", fontsize=SMALLEST, fontweight="bold",
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1},
    )  # fmt: skip


def _found(axes: Axes, found: Fraction, left: Fraction) -> None:
    axes.plot([float(found)], [0.5], "D", color=BLACK, markersize=7, markerfacecolor="white")
    axes.annotate(
        "", (float(left), 0.5), (float(found), 0.5),
        arrowprops={"arrowstyle": "->", "color": BLACK, "shrinkA": 5, "shrinkB": 5},
    )  # fmt: skip
    axes.annotate(
        "as found", (float(found), 0.5), xytext=(0, -13), textcoords="offset points", ha="center",
        fontsize=SMALLEST,
    )  # fmt: skip


def _description(
    value: Fraction,
    unit: str,
    low: Fraction | None,
    high: Fraction | None,
    earlier: Sequence[Fraction],
    later: Sequence[Fraction],
) -> str:
    others = [*earlier, *later]
    beyond = (low is not None and value < low) or (high is not None and value > high)
    where = "" if low is None and high is None else " beyond its limits" if beyond else " within its limits"
    if not others:
        return f"{short(value, 6)} {unit}{where}; no other unit to compare with."
    lower = sum(one < value for one in others)
    return (
        f"{short(value, 6)} {unit}{where}; higher than {lower} of {counted(len(others), 'other unit')} "
        f"({len(earlier)} before, {len(later)} after)."
    )
