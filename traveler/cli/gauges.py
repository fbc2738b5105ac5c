"""``traveler gauge list``, ``due``, ``calibrate``, ``withdraw`` and ``restore``: the register of gauges."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from traveler.cli.clock import moment
from traveler.cli.gauge_group import gauge_group
from traveler.cli.options import At, By, Json, PinFile, Shop
from traveler.cli.present import answer, table
from traveler.cli.shop_at import session_at
from traveler.cli.signing import signed_in
from traveler.text import read_day, read_duration

if TYPE_CHECKING:
    from traveler.jobs.gauges import GaugeChanged
    from traveler.shop.gauges import GaugeToday
    from traveler.trace.queries import GaugeUse

Gauge = Annotated[str, typer.Argument(metavar="ID", help="The gauge, as in gauges.yaml and on its label.")]


def register(app: typer.Typer) -> None:
    """Add ``gauge list``, ``due``, ``calibrate``, ``withdraw`` and ``restore``."""
    group = gauge_group(app)
    group.command(name="list")(list_gauges)
    group.command(name="due")(due)
    group.command(name="calibrate")(calibrate)
    group.command(name="withdraw")(withdraw)
    group.command(name="restore")(restore)


def list_gauges(
    ids: Annotated[
        list[str] | None, typer.Argument(metavar="ID", help="These gauges only, with their calibrations.")
    ] = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """List the gauges: whether each is fit for use today, how certain it is, and how much it was used.

    Example: traveler gauge list
    """
    from traveler.trace.where_used import gauges_listed

    with session_at(shop) as session:
        found = gauges_listed(session, ids or ())
    lines = [register_table(found)] if found else ["there are no gauges in gauges.yaml"]
    if ids:
        lines += [calibrations_table(serial) for serial, _ in found]
    result = {"gauges": [{**serial.as_dict(), **use.as_dict()} for serial, use in found]}
    return answer(result, text="\n".join(lines), json_wanted=json_wanted)


def due(
    within: Annotated[
        str | None,
        typer.Option("--within", metavar="TIME", help="As 30d or 6w; without it: as shop.yaml says."),
    ] = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """List the gauges that have to be calibrated soon, and those that are overdue, the most urgent first.

    Example: traveler gauge due --within 30d
    """
    from traveler.trace.where_used import gauges_due

    asked = read_duration(within).days if within is not None else None
    with session_at(shop) as session:
        days = session.shop.settings.gauge_due_days if asked is None else asked
        found = gauges_due(session, days)
    text = due_table(found) if found else f"no gauge is due within {days} days"
    result = {"within_days": days, "gauges": [serial.as_dict() for serial in found]}
    return answer(result, text=text, json_wanted=json_wanted)


def calibrate(
    gauge: Gauge,
    on: Annotated[str, typer.Option("--date", metavar="DAY", help="When it was calibrated, as 2026-11-02.")],
    result: Annotated[
        Literal["good", "failed"], typer.Option("--result", help="As it left: fit for use, or not.")
    ],
    as_found: Annotated[
        Literal["in", "out"], typer.Option("--as-found", help="As it came: in or out of tolerance.")
    ],
    by: By,
    error: Annotated[
        str | None,
        typer.Option(
            "--error", metavar="ERROR", help='As it came: "+0.02 mm" if it showed too much; "-0.5 %".'
        ),
    ] = None,
    certificate: Annotated[
        str | None, typer.Option("--certificate", metavar="REF", help="Number of the certificate.")
    ] = None,
    uncertainty: Annotated[
        str | None,
        typer.Option("--uncertainty", metavar="U", help="Expanded uncertainty: '0.0028 mm'."),
    ] = None,
    k: Annotated[str | None, typer.Option("--k", metavar="K", help="Its coverage factor, if not 2.")] = None,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Enter a calibration into gauges.yaml; everything else in the file stays as it is, comments too.

    A gauge found out of tolerance puts what was read with it in doubt: see 'traveler gauge recall'.

    Example: traveler gauge calibrate IND-03 --date 2026-11-02 --result good --as-found out --error "+0.02 mm"
    --certificate C-2544 --by qmoor
    """
    from traveler.jobs.gauges import Calibrated
    from traveler.jobs.gauges import calibrate as job

    done = Calibrated(read_day(on), result == "good", as_found, error, certificate, uncertainty, k)
    with session_at(shop) as session:
        changed = job(signed_in(session, by, "calibrate", pin_file), gauge, done, by)
    return _changed(changed, f"calibration of {changed.gauge.id} entered", json_wanted=json_wanted)


def withdraw(
    gauge: Gauge,
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why it is taken out of use.")],
    by: By,
    at: At = None,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Take a gauge out of use: readings made with it from then on are refused, earlier ones stand.

    Everybody may, like stopping a unit. It comes back with 'traveler gauge restore', after a calibration.

    Example: traveler gauge withdraw IND-03 --reason "Dropped on the floor." --by tkiln
    """
    from traveler.jobs.gauges import withdraw_gauge as job

    with session_at(shop) as session:
        when = moment(at, session.shop.settings.time_zone, session.now)
        changed = job(signed_in(session, by, "withdraw_gauge", pin_file), gauge, reason, by, when)
    return _changed(changed, f"{changed.gauge.id} is out of use", json_wanted=json_wanted)


def restore(
    gauge: Gauge,
    by: By,
    at: At = None,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Put a gauge back in use, once a calibration since then left it good.

    Readings made with it in between stay refused.

    Example: traveler gauge restore IND-03 --by qmoor
    """
    from traveler.jobs.gauges import restore_gauge as job

    with session_at(shop) as session:
        when = moment(at, session.shop.settings.time_zone, session.now)
        changed = job(signed_in(session, by, "restore_gauge", pin_file), gauge, by, when)
    return _changed(changed, f"{changed.gauge.id} is back in use", json_wanted=json_wanted)


def register_table(found: Iterable[tuple[GaugeToday, GaugeUse]]) -> str:
    """The register as text."""
    columns = ("gauge", "what", "range", "uncertainty", "today", "good through", "readings", "units")
    rows = [
        (
            serial.gauge.id, serial.gauge.title or serial.gauge.kind, serial.gauge.range or "",
            _uncertainty(serial),
            str(serial.standing), str(serial.due or ""), str(use.readings), str(use.units),
        )
        for serial, use in found
    ]  # fmt: skip
    return table(columns, rows)


def calibrations_table(gauge_today: GaugeToday) -> str:
    """The calibrations of a gauge and its times out of use, the oldest first."""
    gauge = gauge_today.gauge
    rows = [
        (str(each.on), each.as_found, each.error or "", "good" if each.good else "failed",
         each.certificate or "", each.uncertainty or "")
        for each in sorted(gauge.calibrations, key=lambda each: each.on)
    ]  # fmt: skip
    columns = ("calibrated", "as found", "error", "as left", "certificate", "uncertainty")
    lines = [table(columns, rows, title=gauge.id) if rows else f"{gauge.id} was never calibrated"]
    for away in gauge.times_out:
        back = f"until {away.back:%Y-%m-%d %H:%M}" if away.back else "and still is"
        why = f": {away.reason}" if away.reason else ""
        lines.append(f"{gauge.id} was out of use from {away.out:%Y-%m-%d %H:%M} {back}{why}")
    return "\n".join(lines)


def due_table(found: Sequence[GaugeToday]) -> str:
    """Due gauges as text."""
    rows = [
        (
            serial.gauge.id,
            serial.gauge.title or serial.gauge.kind,
            str(serial.standing),
            str(serial.due or ""),
            _left(serial),
        )
        for serial in found
    ]
    return table(("gauge", "what", "today", "good through", "days"), rows)


def _left(gauge_today: GaugeToday) -> str:
    if gauge_today.days is None:
        return ""
    return f"{gauge_today.days} left" if gauge_today.days >= 0 else f"{-gauge_today.days} over"


def _uncertainty(gauge_today: GaugeToday) -> str:
    said = gauge_today.as_dict()
    if not said["uncertainty"]:
        return ""
    return f"{said['uncertainty']}" + ("" if said["k"] == "2" else f" (k = {said['k']})")


def _changed(changed: GaugeChanged, done: str, *, json_wanted: bool) -> int:
    text = f"{done}: {changed.file}" if changed.written is not None else ""
    return answer(changed.as_dict(), changed.findings, text=text, json_wanted=json_wanted)
