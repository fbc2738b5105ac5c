"""Gauges calibrated, withdrawn, restored and studied."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import ClassVar, Literal

from traveler.files import write_whole
from traveler.finding import CannotDo, Finding, Place, Weight, blocking
from traveler.jobs.sign import allowed
from traveler.measure.gauge_error import parse_error
from traveler.measure.number import Unreadable, exact_text
from traveler.result import Result
from traveler.shop.edit import add_to_gauge, end_withdrawal, set_in_gauge
from traveler.shop.folder import GAUGES_FILE, Shop, positive_number, quantity_with_unit
from traveler.shop.gauges import IN_TOLERANCE, OUT_OF_TOLERANCE, Gauge, in_zone
from traveler.shop.session import Session
from traveler.text import plural
from traveler.trace.gauge_study import StudyRequest, StudyResult, run_study
from traveler.trace.plots.study import picture_kind, study_plot
from traveler.trace.queries import used_since


@dataclass(frozen=True, slots=True)
class Calibrated:
    """What a calibration said. ``good``: as it left. ``error``: as it came, see ``measure.found_error``."""

    on: date
    good: bool
    as_found: Literal["in", "out"]
    error: str | None = None
    certificate: str | None = None
    uncertainty: str | None = None
    k: str | None = None


@dataclass(frozen=True, slots=True)
class GaugeChanged(Result):
    """What was written into the register (None where a finding stood in the way), and what to know of it."""

    json_keys: ClassVar[str] = "gauge=gauge.id file written"

    gauge: Gauge
    written: dict[str, str] | None
    file: Path
    findings: tuple[Finding, ...]


def calibrate(session: Session, name: str, done: Calibrated, by: str) -> GaugeChanged:
    """Enters a calibration into the register.

    Findings: GAT002, PER001, PER003 who may not; CAL001 dated in the future; CAL002 entered before; CAL003
    found out of tolerance, so earlier readings are in doubt; CAL004 and by how much is not said; CAL005 still
    out of use.

    Raises:
        CannotDo: no such gauge; error, uncertainty or k not understood; the file cannot be changed safely.
    """
    gauge = session.shop.gauges.named(name)
    _readable(done)
    written = {
        "on": done.on.isoformat(),
        "good": "" if done.good else "false",
        "as_found": "" if done.as_found == "in" else OUT_OF_TOLERANCE,
        "error": done.error or "",
        "certificate": done.certificate or "",
        "uncertainty": done.uncertainty or "",
        "k": done.k or "",
        "by": by,
    }
    said = {key: _line(value) for key, value in written.items() if _line(value)}
    findings = (*allowed(session, "calibrate", by), *_against(session, gauge, done))
    return _changed(session, gauge, said, findings, partial(add_to_gauge, key="calibrations", item=said))


def withdraw_gauge(
    session: Session, name: str, reason: str, by: str, at: datetime | None = None
) -> GaugeChanged:
    """Takes a gauge out of use from a moment on: readings made with it from then on are refused.

    Findings: GAT002, PER001, PER003 who may not; CAL006 it is out of use already; CAL008 (warning) readings
    that are refused by this.

    Raises:
        CannotDo: no such gauge; no reason; the file cannot be changed safely.
    """
    gauge = session.shop.gauges.named(name)
    if not reason.strip():
        what = "a withdrawal needs a reason"
        raise CannotDo(what, 'give it with --reason "…"')
    moment = at or session.now
    said = {"out": _moment(session, moment), "reason": _line(reason), "by": by}
    findings = [*allowed(session, "withdraw_gauge", by, at=at)]
    there = gauge.withdrawal_at(moment, session.shop.zone)
    if there is not None:
        what = f"{gauge.id} is out of use since {there.out:%Y-%m-%d %H:%M}"
        findings.append(_finding(session, "CAL006", what, hint=there.reason))
    else:
        findings += _refused_now(session, gauge, moment)
    return _changed(session, gauge, said, findings, partial(add_to_gauge, key="withdrawals", item=said))


def restore_gauge(session: Session, name: str, by: str, at: datetime | None = None) -> GaugeChanged:
    """Puts a gauge back in use once a calibration found or made it good; readings in between stay refused.

    Findings: GAT002, PER001, PER003 who may not; CAL006 it is in use; CAL007 no good calibration since.

    Raises:
        CannotDo: no such gauge; the file cannot be changed safely.
    """
    gauge, zone = session.shop.gauges.named(name), session.shop.zone
    moment = at or session.now
    there = gauge.withdrawal_at(moment, zone)
    findings = [*allowed(session, "restore_gauge", by, at=at)]
    said = {"back": _moment(session, moment)}
    last = gauge.last_calibration(session.day(moment))
    if there is None:
        findings.append(_finding(session, "CAL006", f"{gauge.id} is in use"))
    elif last is None or not last.good or last.on < (day := in_zone(there.out, zone).date()):
        what = f"{gauge.id} has no good calibration since it was taken out of use on {day}"
        hint = f"calibrate it, and enter that with 'traveler gauge calibrate {gauge.id}'"
        findings.append(_finding(session, "CAL007", what, hint=hint))
    number = gauge.withdrawals.index(there) if there in gauge.withdrawals else len(gauge.withdrawals)
    return _changed(session, gauge, said, findings, partial(end_withdrawal, number=number, values=said))


def _changed(
    session: Session,
    gauge: Gauge,
    said: dict[str, str],
    findings: Sequence[Finding],
    edit: Callable[[Path, str], Path],
) -> GaugeChanged:
    """The register edited, unless a finding blocks."""
    if blocking(findings):
        return GaugeChanged(gauge, None, session.shop.folder / GAUGES_FILE, tuple(findings))
    return GaugeChanged(gauge, said, edit(session.shop.folder, gauge.id), tuple(findings))


def _readable(done: Calibrated) -> None:
    """Nothing, if the numbers can be read.

    Raises:
        CannotDo: one cannot.
    """
    try:
        if done.error is not None:
            parse_error(done.error)
        if done.uncertainty is not None:
            quantity_with_unit(done.uncertainty)
        if done.k is not None:
            positive_number(done.k)
    except Unreadable as problem:
        raise CannotDo(f"{problem.what} ({problem.code})", problem.hint) from problem


def _against(session: Session, gauge: Gauge, done: Calibrated) -> Iterator[Finding]:
    if done.on > session.today:
        yield _finding(session, "CAL001", f"{gauge.id} calibrated on {done.on}, and today is {session.today}")
    if (done.on, done.certificate) in ((known.on, known.certificate) for known in gauge.calibrations):
        what = f"the calibration of {gauge.id} on {done.on} is in the register already"
        yield _finding(session, "CAL002", what)
    if done.as_found == "out" or not done.good:
        hint = f"ask 'traveler gauge recall {gauge.id}' which readings are affected"
        what = f"{gauge.id} was found {OUT_OF_TOLERANCE if done.as_found == 'out' else IN_TOLERANCE}"
        what += "" if done.good else " and could not be made good"
        yield _finding(session, "CAL003", what, hint=hint, weight=Weight.WARNING)
        if done.as_found == "out" and done.error is None:
            what = f"by how much {gauge.id} was out is not said"
            yield _finding(session, "CAL004", what, hint='give --error "+0.02 mm"', weight=Weight.WARNING)
    if gauge.withdrawal_at(session.now, session.shop.zone) is not None and done.good:
        hint = f"put it back with 'traveler gauge restore {gauge.id}'"
        yield _finding(session, "CAL005", f"{gauge.id} is still out of use", hint=hint, weight=Weight.NOTE)


def _refused_now(session: Session, gauge: Gauge, moment: datetime) -> Iterator[Finding]:
    with session.store.reading() as records:
        used = used_since(records, gauge.id, moment)
    if used.readings:
        made = f"{plural(used.readings, 'reading')} of {plural(used.units, 'unit')}"
        what = f"made with {gauge.id} since then and refused now: {made}"
        hint = f"'traveler trace --gauge {gauge.id}' lists the units"
        yield _finding(session, "CAL008", what, hint=hint, weight=Weight.WARNING)


def _finding(
    session: Session, code: str, what: str, *, hint: str = "", weight: Weight = Weight.BLOCKING
) -> Finding:
    return Finding(code, what, Place(str(session.shop.folder / GAUGES_FILE)), weight, hint=hint)


def _moment(session: Session, moment: datetime) -> str:
    """The moment as the shop's wall shows it; in an hour that the clocks repeat, with its offset."""
    there = moment.astimezone(session.shop.zone)
    twice = there.replace(fold=1 - there.fold).utcoffset() != there.utcoffset()
    wall = there if twice else there.replace(tzinfo=None)
    return wall.isoformat(timespec="seconds" if there.second else "minutes")


def _line(text: str) -> str:
    return " ".join(text.split())


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
    path: Path, asked: StudyRequest, *, register: InRegister | None = None, plot: Path | None = None
) -> StudyDone:
    """Works out the study in ``path``; nothing is written where a finding stands in the way.

    Findings: those of :func:`traveler.trace.gauge_study.run_study` and STU011.

    Raises:
        CannotDo: a file, gauge, kind of picture or number that is not understood.
        OSError: a file cannot be written.
    """
    kind = picture_kind(plot) if plot is not None else ""
    gauge = register.shop.gauges.named(register.gauge) if register is not None else None
    result = run_study(path, asked, gauge=gauge, today=register.today if register is not None else None)
    if result.study is None:
        return StudyDone(result)
    written = None
    if register is not None and gauge is not None and register.write:
        if not result.expanded:
            what = "the study shows no spread at all, so it gives no uncertainty"
            raise CannotDo(what, "give the step of the display with --resolution")
        values = {"uncertainty": result.uncertainty, "k": exact_text(result.k)}
        written = set_in_gauge(register.shop.folder, gauge.id, values)
        result = replace(result, findings=(*result.findings, *_overruled(gauge, register.today, written)))
    if plot is not None and result.study is not None:
        write_whole(plot, study_plot(result.study, result.unit, kind))
    return StudyDone(result, plot, written)


def _overruled(gauge: Gauge, today: date, path: Path) -> Iterator[Finding]:
    """STU011, a warning: the calibration in force states an uncertainty of its own, which counts."""
    last = gauge.last_calibration(today)
    if last is not None and last.uncertainty:
        what = f"the calibration of {gauge.id} on {last.on} states {last.uncertainty}, and that counts"
        hint = "take it out of that calibration to let the study's count; the study already holds it"
        yield Finding("STU011", what, Place(str(path)), Weight.WARNING, hint=hint)
