"""Limits as lines that say what they are."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from traveler.trace.statistics.plots.picture import BLACK, SMALLEST
from traveler.trace.statistics.wording import short

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SPECIFICATION = {"color": BLACK, "linewidth": 1.8, "linestyle": "-"}
CONTROL = {"color": BLACK, "linewidth": 0.9, "linestyle": (0, (5, 3))}
CENTRE = {"color": BLACK, "linewidth": 0.7, "linestyle": "-"}


def upright(axes: Axes, where: Fraction | None, name: str) -> None:
    """A specification limit as an upright line with its name and value on top."""
    if where is None:
        return
    axes.axvline(float(where), **SPECIFICATION)  # type: ignore[arg-type]
    axes.annotate(
        f"{name}\n{short(where, 6)}", (float(where), 1), xycoords=("data", "axes fraction"), xytext=(0, 2),
        textcoords="offset points", ha="center", va="bottom", fontsize=SMALLEST,
    )  # fmt: skip


def level(axes: Axes, where: Fraction, name: str, style: dict[str, object]) -> None:
    """A level line with its name and value at the right edge."""
    axes.axhline(float(where), **style)  # type: ignore[arg-type]
    axes.annotate(
        f"{name} {short(where, 5)}", (1, float(where)), xycoords=("axes fraction", "data"), xytext=(3, 0),
        textcoords="offset points", ha="left", va="center", fontsize=SMALLEST, annotation_clip=False,
    )  # fmt: skip
