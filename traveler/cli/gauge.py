"""The group ``gauge``: the register, calibrations, times out of use, and gauge studies."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from traveler.cli.answer import Answer, Column, Found, table
from traveler.cli.request import Gauge, Reason, Request, arg, command, complete_gauges, flag, now, opt
from traveler.finding import CannotDo
from traveler.text import day_in, read_day, read_duration

if TYPE_CHECKING:
    from traveler.jobs.gauges import GaugeChanged, InRegister, StudyDone
    from traveler.measure.gauge_study import GaugeStudy
    from traveler.shop.gauges import GaugeToday
    from traveler.trace.queries import GaugeUse

ThisGauge = Annotated[str, arg("ID", "The gauge, as on its label.", autocompletion=complete_gauges)]


@command("gauge list")
def list_gauges(
    request: Request,
    ids: Annotated[list[str] | None, arg("ID", "These gauges only, with their calibrations.")] = None,
) -> Answer:
    """List the gauges: fit for use today, due date, use.

    Example: traveler gauge list
    """
    from traveler.trace.where_used import gauges_listed

    with request.session() as session:
        found = gauges_listed(session, ids or ())
    lines = [_register_table(found)] if found else ["there are no gauges in gauges.yaml"]
    if ids:
        lines += [_calibrations(gauge) for gauge, _ in found]
    return Answer({"gauges": [{**gauge.as_dict(), **use.as_dict()} for gauge, use in found]}, lines)


@command("gauge due")
def due(
    request: Request,
    within: Annotated[str | None, opt("TIME", "As 30d or 6w; without it: as in shop.yaml.")] = None,
) -> Answer:
    """List the gauges that need calibration soon.

    Overdue gauges come first.

    Example: traveler gauge due --within 30d
    """
    from traveler.trace.where_used import gauges_due

    asked = read_duration(within).days if within is not None else None
    with request.session() as session:
        days = session.shop.settings.gauge_due_days if asked is None else asked
        found = gauges_due(session, days)
    lines = [_due_table(found)] if found else [f"no gauge is due within {days} days"]
    return Answer({"within_days": days, "gauges": [gauge.as_dict() for gauge in found]}, lines)


@command("gauge calibrate", by="needed", pin=True)
def calibrate(
    request: Request,
    gauge: ThisGauge,
    on: Annotated[str, opt("DAY", "When it was calibrated: 2026-11-02.")],
    result: Annotated[Literal["good", "failed"], flag("As it left: fit for use, or not.")],
    as_found: Annotated[Literal["in", "out"], flag("Found on arrival: in or out of tolerance.")],
    error: Annotated[
        str | None, opt("ERROR", 'As it came: "+0.02 mm" if it showed too much; "-0.5 %".')
    ] = None,
    certificate: Annotated[str | None, opt("REF", "Number of the certificate.")] = None,
    uncertainty: Annotated[str | None, opt("U", "Expanded uncertainty: '0.0028 mm'.")] = None,
    k: Annotated[str | None, opt("K", "Its coverage factor, if not 2.")] = None,
) -> Answer:
    """Enter a calibration into gauges.yaml.

    The rest of the file stays as it is, comments too. A gauge found out of tolerance puts earlier readings
    in doubt: see 'traveler gauge recall'.

    Example: traveler gauge calibrate IND-03 --on 2026-11-02 --result good --as-found out --error "+0.02 mm"
    --certificate C-2544 --by qmoor
    """
    from traveler.jobs.gauges import Calibrated
    from traveler.jobs.gauges import calibrate as job

    done = Calibrated(read_day(on), result == "good", as_found, error, certificate, uncertainty, k)
    with request.session("calibrate") as session:
        changed = job(session, gauge, done, request.person)
    return _changed(changed, f"calibration of {changed.gauge.id} entered")


@command("gauge withdraw", by="needed", at=True, pin=True)
def withdraw(request: Request, gauge: ThisGauge, reason: Reason) -> Answer:
    """Take a gauge out of use. Everybody may.

    Readings made with it from then on are refused; earlier ones stand. 'traveler gauge restore' puts it
    back, after a calibration.

    Example: traveler gauge withdraw IND-03 --reason "Dropped on the floor." --by tkiln
    """
    from traveler.jobs.gauges import withdraw_gauge as job

    with request.session("withdraw_gauge") as session:
        changed = job(session, gauge, reason, request.person, request.moment(session))
    return _changed(changed, f"{changed.gauge.id} is out of use")


@command("gauge restore", by="needed", at=True, pin=True)
def restore(request: Request, gauge: ThisGauge) -> Answer:
    """Put a gauge back in use, after a good calibration.

    Readings made while it was out of use stay refused.

    Example: traveler gauge restore IND-03 --by qmoor
    """
    from traveler.jobs.gauges import restore_gauge as job

    with request.session("restore_gauge") as session:
        changed = job(session, gauge, request.person, request.moment(session))
    return _changed(changed, f"{changed.gauge.id} is back in use")


def _changed(changed: GaugeChanged, done: str) -> Answer:
    lines = [f"{done}: {changed.file}"] if changed.written is not None else []
    return Answer(changed.as_dict(), lines, changed.findings)


def _register_table(found: Iterable[tuple[GaugeToday, GaugeUse]]) -> str:
    columns = (
        "gauge", Column("title", text=True), Column("range", drop=3), Column("uncertainty", drop=4), "today",
        "good through", Column("readings", drop=1), Column("units", drop=2),
    )  # fmt: skip
    rows = [
        (
            listed.gauge.id, listed.gauge.title or listed.gauge.kind, listed.gauge.range or "",
            _uncertainty(listed), str(listed.standing), str(listed.due or ""), str(use.readings),
            str(use.units),
        )
        for listed, use in found
    ]  # fmt: skip
    return table(columns, rows)


def _uncertainty(listed: GaugeToday) -> str:
    facts = listed.as_dict()
    if not facts["uncertainty"]:
        return ""
    return f"{facts['uncertainty']}" + ("" if facts["k"] == "2" else f" (k = {facts['k']})")


def _calibrations(listed: GaugeToday) -> str:
    """The calibrations of a gauge and its times out of use, the oldest first."""
    gauge = listed.gauge
    rows = [
        (str(done.on), done.as_found, done.error or "", "good" if done.good else "failed",
         done.certificate or "", done.uncertainty or "")
        for done in sorted(gauge.calibrations, key=lambda done: done.on)
    ]  # fmt: skip
    columns = (
        "calibrated", "as found", "error", "as left", Column("certificate", drop=2),
        Column("uncertainty", drop=1),
    )  # fmt: skip
    lines = [table(columns, rows, title=gauge.id) if rows else f"{gauge.id} was never calibrated"]
    for away in gauge.times_out:
        back = f"until {away.back:%Y-%m-%d %H:%M}" if away.back else "and still is"
        why = f": {away.reason}" if away.reason else ""
        lines.append(f"{gauge.id} was out of use from {away.out:%Y-%m-%d %H:%M} {back}{why}")
    return "\n".join(lines)


def _due_table(found: Sequence[GaugeToday]) -> str:
    columns = ("gauge", Column("title", text=True, drop=1), "today", "good through", "days")
    rows = [
        (
            listed.gauge.id, listed.gauge.title or listed.gauge.kind, str(listed.standing),
            str(listed.due or ""), _days_left(listed),
        )
        for listed in found
    ]  # fmt: skip
    return table(columns, rows)


def _days_left(listed: GaugeToday) -> str:
    if listed.days is None:
        return ""
    return f"{listed.days} left" if listed.days >= 0 else f"{-listed.days} over"


@command("gauge study")
def study(
    request: Request,
    file: Annotated[Path, arg("FILE", "CSV with part, operator, trial, value.")],
    method: Annotated[Literal["anova", "average-range"], flag("How the spread is divided.")] = "anova",
    interaction: Annotated[
        Literal["auto", "with", "without"],
        flag("Interaction of part and operator."),
    ] = "auto",
    unit: Annotated[str | None, opt("UNIT", "Unit of measure of values that have none in the file.")] = None,
    tolerance: Annotated[str | None, opt("WIDTH", "Its width, or two-sided limits: '25 ± 0.05 mm'.")] = None,
    resolution: Annotated[str | None, opt("STEP", "Step of the display: '0.001 mm'.")] = None,
    k: Annotated[str, opt("K", "Coverage factor of the uncertainty.")] = "2",
    gauge: Gauge = None,
    write: Annotated[
        bool, flag("Write the expanded uncertainty into gauges.yaml (with --gauge).", "--write")
    ] = False,
    to: Annotated[Path | None, opt("FILE", "Draw it: .png, .svg or .pdf.")] = None,
) -> Answer:
    """Divide the spread of readings into gauge, people and parts.

    Several people measure several parts several times. The result: repeatability, reproducibility, the
    gauge's share (%GRR), distinct categories, and the expanded uncertainty for the register. --gauge takes
    resolution and calibration from the register.

    Example: traveler gauge study indicator.csv --tolerance "0.05 mm" --to indicator.png --gauge IND-03
    --write
    """
    from traveler.jobs.gauges import gauge_study
    from traveler.trace.gauge_study import StudyRequest

    if write and gauge is None:
        what = "--write needs the gauge"
        raise CannotDo(what, "name it with --gauge ID")
    in_register = _in_register(request, gauge, write=write) if gauge is not None else None
    asked = StudyRequest(method, interaction, unit, tolerance, resolution, k)
    done = gauge_study(file, asked, register=in_register, plot=to)
    return Answer(_study_dict(done), _study_lines(done), done.result.findings)


def _in_register(request: Request, gauge: str, *, write: bool) -> InRegister:
    """The gauge's place in the shop's register.

    Raises:
        CannotDo: there is no shop.
        Found: its files have blocking findings.
    """
    from traveler.jobs.gauges import InRegister
    from traveler.shop.folder import open_shop

    opened = open_shop(request.shop_folder())
    if opened.shop is None:
        raise Found(opened.findings)
    return InRegister(opened.shop, gauge, day_in(opened.shop.zone, now()), write)


SOURCES = {
    "gauge": "gauge (GRR)",
    "repeatability": "  repeatability (EV)",
    "reproducibility": "  reproducibility (AV)",
    "operator": "    operator",
    "interaction": "    interaction",
    "part": "part (PV)",
    "total": "total (TV)",
}
"""The sources of spread, as a study lists them."""


def _digits(value: Fraction | None, count: int = 6) -> str | None:
    """A number with so many significant digits, without an exponent where it is not tiny or huge."""
    return None if value is None else f"{float(value):.{count}g}"


def _percent(value: Fraction | None) -> str | None:
    return None if value is None else f"{float(value):.2f}"


def _study_dict(done: StudyDone) -> dict[str, object]:
    """The study for ``--json``."""
    result, found = done.result, done.result.study
    about: dict[str, object] = {"file": result.file, "unit": result.unit}
    if found is None:
        return about
    design = found.design
    parts = ("of_variation", "of_variance", "of_tolerance")
    shares = {
        name: {
            "sd": _digits(share.sd),
            **{f"percent_{part}": _percent(getattr(share, part)) for part in parts},
        }
        for name, share in found.shares.items()
    }
    anova = [
        {
            "source": row.source, "freedom": row.freedom, "squares": _digits(row.squares, 8),
            "mean_square": _digits(row.mean_square, 8), "f": _digits(row.f), "p": _digits(row.p),
        }
        for row in found.table
    ]  # fmt: skip
    return about | {
        "method": found.method,
        "parts": len(design.parts),
        "operators": len(design.operators),
        "trials": design.trials,
        "interaction_pooled": found.pooled,
        "shares": shares,
        "grr_percent": _percent(found.shares["gauge"].of_variation),
        "categories": found.categories,
        "band": found.band,
        "anova": anova,
        "expanded_uncertainty": result.uncertainty,
        "k": _digits(result.k),
        "counted": list(result.counted),
        "plot": None if done.plot is None else str(done.plot),
        "register": None if done.register is None else str(done.register),
    }


def _study_lines(done: StudyDone) -> Iterator[str]:
    """The study for people."""
    result, found = done.result, done.result.study
    if found is None:
        return
    design, pooled = found.design, ", interaction pooled" if found.pooled else ""
    counts = f"{len(design.parts)} parts × {len(design.operators)} operators × {design.trials} trials"
    yield f"{result.file}: {counts}, method {found.method}{pooled}"
    yield _shares_table(found, result.unit)
    if found.table:
        yield _anova_table(found)
    share = _percent(found.shares["gauge"].of_variation)
    categories = f"{found.categories} distinct categories"
    if found.categories is None:
        categories = "no spread in the gauge"
    yield f"%GRR {share or '-'} ({found.band or 'nothing varies'}), {categories}"
    yield f"expanded uncertainty {result.uncertainty} (k = {_digits(result.k)}; {', '.join(result.counted)})"
    if done.register is None:
        yield f"for the register: uncertainty: {result.uncertainty}, k: {_digits(result.k)}"
    else:
        yield f"written into {done.register}"
    if done.plot is not None:
        yield f"drawn in {done.plot}"


def _shares_table(found: GaugeStudy, unit: str) -> str:
    columns: list[str | Column] = ["source", f"std. deviation ({unit})", "% of variation"]
    columns.append(Column("% of variance", drop=1))
    against = any(share.of_tolerance is not None for share in found.shares.values())
    rows = []
    for name, label in SOURCES.items():
        share = found.shares[name]
        row = [label, _digits(share.sd), _percent(share.of_variation), _percent(share.of_variance)]
        row += [_percent(share.of_tolerance)] if against else []
        rows.append([cell or "-" for cell in row])
    return table([*columns, "% of tolerance"] if against else columns, rows)


def _anova_table(found: GaugeStudy) -> str:
    numbers = (
        (
            row.source,
            str(row.freedom),
            *map(_digits, (row.squares, row.mean_square, row.f)),
            _digits(row.p, 3),
        )
        for row in found.table
    )
    columns = ("source", "degrees of freedom", Column("sum of squares", drop=1), "mean square", "F", "p")
    return table(columns, [[cell or "-" for cell in row] for row in numbers])
