"""How a gauge study is told: as text with tables, and as JSON with numbers as text."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from traveler.cli.present import table

if TYPE_CHECKING:
    from traveler.jobs.gauges import StudyDone
    from traveler.measure.gauge_study import GaugeStudy

NAMES = {
    "gauge": "gauge (GRR)",
    "repeatability": "  repeatability (EV)",
    "reproducibility": "  reproducibility (AV)",
    "operator": "    operator",
    "interaction": "    interaction",
    "part": "part (PV)",
    "total": "total (TV)",
}


def digits(value: Fraction | None, count: int = 6) -> str | None:
    """A number with so many significant digits, without an exponent where it is not tiny or huge."""
    return None if value is None else f"{float(value):.{count}g}"


def percent(value: Fraction | None) -> str | None:
    """A percentage with two decimals."""
    return None if value is None else f"{float(value):.2f}"


def study_json(done: StudyDone) -> dict[str, object]:
    """The study for ``--json``."""
    result, found = done.result, done.result.study
    told: dict[str, object] = {"file": result.file, "unit": result.unit}
    if found is None:
        return told
    design = found.design
    told |= {
        "method": found.method,
        "parts": len(design.parts),
        "operators": len(design.operators),
        "trials": design.trials,
        "interaction_pooled": found.pooled,
        "shares": {
            name: {
                "sd": digits(share.sd),
                "percent_of_variation": percent(share.of_variation),
                "percent_of_variance": percent(share.of_variance),
                "percent_of_tolerance": percent(share.of_tolerance),
            }
            for name, share in found.shares.items()
        },
        "grr_percent": percent(found.shares["gauge"].of_variation),
        "categories": found.categories,
        "band": found.band,
        "anova": [
            {
                "source": row.source,
                "freedom": row.freedom,
                "squares": digits(row.squares, 8),
                "mean_square": digits(row.mean_square, 8),
                "f": digits(row.f),
                "p": digits(row.p),
            }
            for row in found.table
        ],
        "expanded_uncertainty": result.uncertainty,
        "k": digits(result.k),
        "counted": list(result.counted),
        "plot": None if done.plot is None else str(done.plot),
        "register": None if done.register is None else str(done.register),
    }
    return told


def study_text(done: StudyDone) -> str:
    """The study for people."""
    found = done.result.study
    return "" if found is None else "\n".join(_lines(done, found))


def _lines(done: StudyDone, found: GaugeStudy) -> Iterator[str]:
    result, design = done.result, found.design
    yield (
        f"{result.file}: {len(design.parts)} parts × {len(design.operators)} operators × "
        f"{design.trials} trials, method {found.method}" + (", interaction pooled" if found.pooled else "")
    )
    yield _shares(found, result.unit)
    if found.table:
        yield _anova(found)
    share = percent(found.shares["gauge"].of_variation)
    categories = (
        "no spread in the gauge" if found.categories is None else f"{found.categories} distinct categories"
    )
    yield f"%GRR {share or '-'} ({found.band or 'nothing varies'}), {categories}"
    yield f"expanded uncertainty {result.uncertainty} (k = {digits(result.k)}; {', '.join(result.counted)})"
    if done.register is None:
        yield f"for the register: uncertainty: {result.uncertainty}, k: {digits(result.k)}"
    else:
        yield f"written into {done.register}"
    if done.plot is not None:
        yield f"drawn in {done.plot}"


def _shares(found: GaugeStudy, unit: str) -> str:
    against = any(share.of_tolerance is not None for share in found.shares.values())
    columns = ["source", f"std. deviation ({unit})", "% of variation", "% of variance"]
    rows = []
    for name, label in NAMES.items():
        share = found.shares[name]
        row = [label, digits(share.sd), percent(share.of_variation), percent(share.of_variance)]
        row += [percent(share.of_tolerance)] if against else []
        rows.append([cell or "-" for cell in row])
    return table([*columns, "% of tolerance"] if against else columns, rows)


def _anova(found: GaugeStudy) -> str:
    rows = [
        [
            row.source,
            str(row.freedom),
            digits(row.squares) or "-",
            digits(row.mean_square) or "-",
            digits(row.f) or "-",
            digits(row.p, 3) or "-",
        ]
        for row in found.table
    ]
    return table(["source", "degrees of freedom", "sum of squares", "mean square", "F", "p"], rows)
