"""Limits as lines that say what they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from traveler.trace.statistics.plots.picture import BLACK, SMALLEST
from traveler.trace.statistics.wording import short

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SPECIFICATION = {"color": BLACK, "linewidth": 1.8, "linestyle": "-"}
CONTROL = {"color": BLACK, "linewidth": 0.9, "linestyle": (0, (5, 3))}
CENTRE = {"color": BLACK, "linewidth": 0.7, "linestyle": "-"}

ROOM = 11.5
"""Points between the middles of two names under each other."""


def upright(axes: Axes, where: Fraction | None, name: str) -> None:
    """A specification limit as an upright line with its name and value on top."""
    if where is None:
        return
    axes.axvline(float(where), **SPECIFICATION)  # type: ignore[arg-type]
    axes.annotate(
        f"{name}\n{short(where, 6)}", (float(where), 1), xycoords=("data", "axes fraction"), xytext=(0, 2),
        textcoords="offset points", ha="center", va="bottom", fontsize=SMALLEST,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Level:
    """A level line: where, what it is called, how it is drawn."""

    where: Fraction
    name: str
    style: dict[str, object]


def level(axes: Axes, where: Fraction, name: str, style: dict[str, object]) -> None:
    """A level line with its name and value at the right edge."""
    levels(axes, [Level(where, name, style)])


def levels(axes: Axes, lines: Sequence[Level]) -> None:
    """Level lines with their names and values at the right edge, names moved apart where lines are close.

    To be called when everything else is drawn: the room between names depends on the scale.
    """
    for one in lines:
        axes.axhline(float(one.where), **one.style)  # type: ignore[arg-type]
    low, high = axes.get_ylim()
    height = axes.get_position().height * axes.figure.bbox.height / axes.figure.dpi * 72 * 0.8
    apart = ROOM * (high - low) / height
    at = low - apart
    for one in sorted(lines, key=lambda line: line.where):
        at = max(float(one.where), at + apart)
        axes.annotate(
            f"{one.name} {short(one.where, 4)}", (1, at), xycoords=("axes fraction", "data"), xytext=(3, 0),
            textcoords="offset points", ha="left", va="center", fontsize=SMALLEST, annotation_clip=False,
        )  # fmt: skip
