"""A gauge study as a picture that prints in black and white: shares, readings by part, ranges, operators."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING, Any

from traveler.finding import CannotDo
from traveler.measure.gauge_study import ranges_of

if TYPE_CHECKING:
    from traveler.measure.gauge_study import GaugeStudy

KINDS = ("png", "svg", "pdf")
_MARKS = ("o", "s", "^", "D", "v", "P", "X", "*")
_LINES = ("-", "--", ":", "-.")
_MOST_NAMES = 24
_ROOM = 50
"""Letters that fit side by side under an axis."""
_HATCHES = {"gauge": "", "repeatability": "///", "reproducibility": "...", "part": "xxx"}


def picture_kind(path: Path) -> str:
    """The kind of picture that a file's name asks for.

    Raises:
        CannotDo: none of ``KINDS``.
    """
    kind = path.suffix.removeprefix(".").casefold()
    if kind not in KINDS:
        what = f"{path.name} is none of the kinds of pictures made here"
        raise CannotDo(what, f"end its name in {', '.join('.' + text for text in KINDS)}")
    return kind


def study_plot(found: GaugeStudy, unit: str, kind: str) -> bytes:
    """The picture, 11 × 8 in; the same study gives the same bytes."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    with mpl.rc_context({"svg.hashsalt": "gauge study", "font.family": "DejaVu Sans", "font.size": 10}):
        figure = Figure(figsize=(11, 8), dpi=150, layout="constrained")
        (shares, parts), (ranges, operators) = figure.subplots(2, 2)
        figure.suptitle(_sentence(found))
        _shares(shares, found)
        _parts(parts, found, unit)
        _ranges(ranges, found, unit)
        _operators(operators, found, unit)
        picture = io.BytesIO()
        dated = {"svg": "Date", "pdf": "CreationDate"}.get(kind)
        figure.savefig(picture, format=kind, metadata={dated: None} if dated else None)
    return picture.getvalue()


def _sentence(found: GaugeStudy) -> str:
    share, categories = found.shares["gauge"].of_variation, found.categories
    if share is None:
        return "No reading differs from another"
    apart = "no spread in the gauge" if categories is None else f"{categories} distinct categories"
    return f"Gauge takes {float(share):.1f} % of the variation: {found.band}; {apart}"


def _shares(axes: Any, found: GaugeStudy) -> None:
    names = list(_HATCHES)
    heights = [float(found.shares[name].of_variation or 0) for name in names]
    for limit in (10, 30):
        axes.axhline(limit, color="black", linewidth=0.8, linestyle="--", zorder=0)
    bars = axes.bar(
        names, heights, color="white", edgecolor="black", hatch=[_HATCHES[name] for name in names]
    )
    labels = axes.bar_label(bars, fmt="%.1f %%", padding=3)
    for label in labels:
        label.set_bbox({"facecolor": "white", "edgecolor": "none", "pad": 1})
    axes.set_yticks([0, 10, 30, 60, 80, 100])
    axes.set_ylim(0, 112)
    axes.set_ylabel("% of total variation")
    axes.set_title("Where the spread comes from")


def _style(number: int) -> tuple[str, str]:
    """Mark and line of an operator; no pair comes twice among the first 32."""
    return _MARKS[number % len(_MARKS)], _LINES[(number + number // len(_MARKS)) % len(_LINES)]


def _parts(axes: Any, found: GaugeStudy, unit: str) -> None:
    parts = found.design.parts
    for number, operator in enumerate(found.design.operators):
        mark, line = _style(number)
        cells = [[float(reading) for reading in found.design.cells[part, operator]] for part in parts]
        means = [sum(cell) / len(cell) for cell in cells]
        every = [(at, value) for at, cell in enumerate(cells) for value in cell]
        axes.plot(range(len(parts)), means, color="black", linestyle=line, linewidth=1)
        axes.plot(*zip(*every, strict=True), mark, color="black", fillstyle="none", ms=5)
        axes.plot([], [], mark + line, color="black", fillstyle="none", linewidth=1, ms=5, label=operator)
    _name(axes, parts, "part", f"reading ({unit})")
    axes.set_title("Readings by part; a line for each operator")
    axes.legend(fontsize=8, handlelength=4)


def _ranges(axes: Any, found: GaugeStudy, unit: str) -> None:
    parts, ranges = found.design.parts, ranges_of(found.design)
    for number, operator in enumerate(found.design.operators):
        heights = [float(ranges[part, operator]) for part in parts]
        style = "".join(_style(number))
        axes.plot(range(len(parts)), heights, style, color="black", fillstyle="none", linewidth=1, ms=5)
    limit = float(found.range_limit)
    axes.axhline(limit, color="black", linewidth=0.8, linestyle="--")
    axes.annotate("D4 · mean range", (0, limit), fontsize=8, va="bottom")
    _name(axes, parts, "part", f"range ({unit})")
    axes.set_title("Ranges by part")


def _operators(axes: Any, found: GaugeStudy, unit: str) -> None:
    design = found.design
    middles = {part: design.mean(part=part) for part in design.parts}
    values = [
        [float(cell - middles[part]) for part in design.parts for cell in design.cells[part, by]]
        for by in design.operators
    ]
    axes.boxplot(values, medianprops={"color": "black"}, widths=0.4)
    axes.axhline(0, color="black", linewidth=0.8, linestyle="--")
    _name(axes, design.operators, "operator", f"off the part's mean ({unit})", first=1)
    axes.set_title("Operators against each other")


def _name(axes: Any, names: tuple[str, ...], below: str, beside: str, first: int = 0) -> None:
    """Names under an axis, upright where they are long, and no more than there is room for."""
    every = -(-len(names) // _MOST_NAMES)
    long = max(map(len, names)) * len(names) > _ROOM
    axes.set_xticks(range(first, first + len(names))[::every], names[::every], rotation=90 if long else 0)
    axes.set_xlabel(below)
    axes.set_ylabel(beside)
