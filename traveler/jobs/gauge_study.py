"""A gauge study: worked out from a file, drawn, and its uncertainty put into the register."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from traveler.jobs.cannot import CannotDo
from traveler.jobs.gauge_uncertainty import registered, set_uncertainty
from traveler.jobs.study_plot import kind_of, study_plot
from traveler.jobs.study_result import Asked, StudyResult, run_study
from traveler.jobs.whole_file import write_whole
from traveler.measure.number import exact_text
from traveler.shop.folder import Shop


@dataclass(frozen=True, slots=True)
class InRegister:
    """The gauge of the register that was studied, and whether its uncertainty is to be written there."""

    shop: Shop
    gauge: str
    today: date
    write: bool = False


@dataclass(frozen=True, slots=True)
class StudyDone:
    """What came of a study: the result, and the files that were written (None: none)."""

    result: StudyResult
    plot: Path | None = None
    register: Path | None = None


def gauge_study(
    path: Path, asked: Asked, *, register: InRegister | None = None, plot: Path | None = None
) -> StudyDone:
    """Works out the study in ``path``; nothing is written where a finding stands in the way.

    Findings: those of :func:`traveler.jobs.study_result.run_study` and STU011.

    Raises:
        CannotDo: a file, gauge, kind of picture or number that is not understood.
        OSError: a file cannot be written.
    """
    kind = kind_of(plot) if plot is not None else ""
    gauge = registered(register.shop.gauges, register.gauge) if register is not None else None
    result = run_study(path, asked, gauge=gauge, today=register.today if register is not None else None)
    if result.study is None:
        return StudyDone(result)
    written = None
    if register is not None and gauge is not None and register.write:
        if not result.expanded:
            what = "the study shows no spread at all, so it gives no uncertainty"
            raise CannotDo(what, "give the step of the display with --resolution")
        done = set_uncertainty(
            register.shop.folder, gauge, result.uncertainty, exact_text(result.k), register.today
        )
        result = replace(result, findings=(*result.findings, *done.findings))
        written = done.file
    if plot is not None and result.study is not None:
        write_whole(plot, study_plot(result.study, result.unit, kind))
    return StudyDone(result, plot, written)
