"""Pareto bars."""

from __future__ import annotations

from traveler.trace.statistics.pareto import Pareto
from traveler.trace.statistics.plots.picture import BLACK, SMALLEST, Picture, blank, look, wrapped
from traveler.trace.statistics.wording import percent

MOST = 15


def pareto_bars(counts: Pareto, *, title: str, most: int = MOST) -> Picture:
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
    with look():
        figure, axes = blank(160, 24 + 7 * max(1, len(bars)))
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
    return Picture(figure, f"Pareto of {title}. {counts.sentence}")
