"""How every plot looks and becomes a file: black on white, limits as named lines, equal bytes each time."""

from __future__ import annotations

import io
import textwrap
import threading
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from traveler.trace.stats.numbers import short

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SMALLEST = 9.5
"""Points; the smallest text in any picture at its own size."""
BLACK, DARK, LIGHT = "black", "0.35", "0.8"
"""The only inks: nothing depends on telling one gray from another."""

_LOOK: Any = {
    "font.family": "DejaVu Sans",
    "font.size": 9.5,
    "axes.titlesize": 11,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "axes.labelsize": 9.5,
    "xtick.labelsize": SMALLEST,
    "ytick.labelsize": SMALLEST,
    "legend.fontsize": SMALLEST,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.6,
    "axes.formatter.useoffset": False,
    "axes.unicode_minus": True,
    "lines.linewidth": 0.8,
    "hatch.linewidth": 0.5,
    "text.parse_math": False,  # a "$" in a title is a dollar
    "text.color": BLACK,
    "figure.facecolor": "white",
    "svg.hashsalt": "traveler",
    "svg.fonttype": "path",  # looks the same wherever it is opened, with whatever fonts
    "pdf.fonttype": 42,
}
_ONE_AT_A_TIME = threading.Lock()


@contextmanager
def plot_style() -> Iterator[None]:
    """The look, while drawing and while saving; matplotlib keeps its settings per process, hence the lock."""
    import matplotlib as mpl

    with _ONE_AT_A_TIME, mpl.rc_context(_LOOK), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # drawn as an empty box
        yield


def empty_plot(
    width: float, height: float, rows: int = 1, ratios: tuple[float, ...] | None = None
) -> tuple[Figure, Any]:
    """An empty figure of that size (mm) with its axes, one above the other; no window, no global state.

    To be called within :func:`plot_style`.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width / 25.4, height / 25.4))
    figure.set_layout_engine("constrained", w_pad=0.1)  # inches: letters are not equally wide at every dpi
    axes = figure.subplots(rows, 1, sharex=rows > 1, height_ratios=ratios)
    return figure, axes


def wrapped(text: str, width: float, lines: int = 3) -> str:
    """The text in lines of about that width (mm, at 10 pt), cut off with … after so many."""
    return "\n".join(textwrap.wrap(text, max(8, int(width / 2.4)), max_lines=lines, placeholder=" …"))


@dataclass(frozen=True)
class Plot:
    """A finished picture with the sentence that says what it shows (for the alternative text)."""

    figure: Figure
    description: str

    def __post_init__(self) -> None:
        """Settle the layout: left to itself it would shift a little at each saving."""
        with plot_style():
            for _ in range(2):  # names beside the axes move with them: the first pass only comes near
                self.figure.draw_without_rendering()
        self.figure.set_layout_engine("none")

    @property
    def width(self) -> float:
        """The width in mm."""
        return round(self.figure.get_figwidth() * 25.4, 1)

    def svg(self) -> bytes:
        """As SVG, letters as outlines."""
        return self._saved("svg", {"Date": None, "Creator": None, "Description": self.description})

    def pdf(self) -> bytes:
        """As a PDF page of the picture's size."""
        return self._saved("pdf", {"CreationDate": None, "Creator": None, "Title": self.description})

    def png(self, dpi: int = 200) -> bytes:
        """As PNG."""
        return self._saved("png", {"Software": None, "Description": self.description}, dpi=dpi)

    def _saved(self, kind: str, metadata: dict[str, str | None], dpi: int = 72) -> bytes:
        sheet = io.BytesIO()
        with plot_style():
            self.figure.savefig(sheet, format=kind, metadata=metadata, dpi=dpi)
        return sheet.getvalue()


SPECIFICATION = {"color": BLACK, "linewidth": 1.8, "linestyle": "-"}
CONTROL = {"color": BLACK, "linewidth": 0.9, "linestyle": (0, (5, 3))}
CENTRE = {"color": BLACK, "linewidth": 0.7, "linestyle": "-"}

ROOM = 11.5
"""Points between the middles of two names under each other."""


def upright(axes: Axes, where: Fraction, name: str) -> None:
    """A specification limit as an upright line with its name and value on top."""
    axes.axvline(float(where), **SPECIFICATION)  # type: ignore[arg-type]
    axes.annotate(
        f"{name}\n{short(where, 6)}", (float(where), 1), xycoords=("data", "axes fraction"), xytext=(0, 2),
        textcoords="offset points", ha="center", va="bottom", fontsize=SMALLEST,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class LevelLine:
    """A level line: where, what it is called, how it is drawn."""

    where: Fraction
    name: str
    style: dict[str, object]


def levels(axes: Axes, lines: Sequence[LevelLine]) -> None:
    """Level lines with their names and values at the right edge, names moved apart where lines are close.

    To be called when everything else is drawn: the room between names depends on the scale.
    """
    for line in lines:
        axes.axhline(float(line.where), **line.style)  # type: ignore[arg-type]
    low, high = axes.get_ylim()
    height = axes.get_position().height * axes.figure.bbox.height / axes.figure.dpi * 72 * 0.8
    apart = ROOM * (high - low) / height
    at = low - apart
    for line in sorted(lines, key=lambda line: line.where):
        at = max(float(line.where), at + apart)
        axes.annotate(
            f"{line.name} {short(line.where, 4)}", (1, at),
            xycoords=("axes fraction", "data"), xytext=(3, 0),
            textcoords="offset points", ha="left", va="center", fontsize=SMALLEST, annotation_clip=False,
        )  # fmt: skip
