"""``traveler gauge recall``: what a wrong gauge did, and where the units are that it touched."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.gauge_group import gauge_group
from traveler.cli.gauges import Gauge
from traveler.cli.options import Json, PinFile, Shop
from traveler.cli.present import CannotDo, answer, table
from traveler.cli.progress import watched
from traveler.cli.shop_at import session_at
from traveler.cli.signing import signed_in
from traveler.text import read_day

if TYPE_CHECKING:
    from traveler.jobs.stop import Stopping
    from traveler.shop.session import Session
    from traveler.trace.recall import Recall, RecalledUnit

SHOWN = 25
"""So many units that fail are shown with their slots; the list has them all."""

NAMED = 12
"""So many units that still stand are named; the list has them all."""


def register(app: typer.Typer) -> None:
    """Add ``gauge recall``."""
    gauge_group(app).command(name="recall")(recall)


def recall(
    gauge: Gauge,
    error: Annotated[
        str | None,
        typer.Option(
            "--error",
            metavar="ERROR",
            help='What it showed too much (+) or too little (-): "+0.02 mm", "-0.5 %", or both. Without it: '
            "as its last calibration in gauges.yaml says.",
        ),
    ] = None,
    since: Annotated[
        str | None,
        typer.Option("--since", metavar="DAY", help="First day in question. Without it: its last good one."),
    ] = None,
    until: Annotated[
        str | None,
        typer.Option("--until", metavar="DAY", help="Last day in question. Without it: when found out."),
    ] = None,
    file: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write every reading into a list.")
    ] = None,
    sheet: Annotated[
        Path | None,
        typer.Option("--sheet", metavar="FILE", help="Write a sheet for the auditor: .pdf or .html."),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="Show every reading, not only what changes.")] = False,
    stop: Annotated[
        bool, typer.Option("--stop", help="Stop the affected units that are not shipped (needs --by).")
    ] = False,
    by: Annotated[str | None, typer.Option("--by", metavar="ID", help="Who stops them.")] = None,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Weigh again everything read with a gauge that turned out wrong, with its error taken off.

    Gives every unit it touched since its last good calibration: what was accepted and should not have been,
    how far out it is, and where the unit is now. Error = shown minus true, so + is a gauge that showed too
    much. Exit code 1 if anything would not have been accepted.

    Example: traveler gauge recall IND-03 --error "+0.02 mm" --csv affected.csv
    """
    from traveler.trace.recall import recall_csv, recall_dict
    from traveler.trace.recall_query import RecallRequest, findings_of, write_recall
    from traveler.trace.recall_query import recall as job

    if stop and by is None:
        what = "--stop needs to know who stops them"
        raise CannotDo(what, "name yourself with --by ID")
    first = read_day(since) if since is not None else None
    last = read_day(until) if until is not None else None
    with session_at(shop) as session:
        zone = session.shop.zone
        found = job(session, RecallRequest(gauge, error, first, last), _watched)
        if file is not None:
            from traveler.files import write_whole

            write_whole(file, recall_csv(found, zone).encode())
        about = write_recall(session, found, sheet) if sheet is not None else ()
        stopped = []
        if stop and by is not None:
            stopped = _stop(signed_in(session, by, "stop", pin_file), found, by)
        findings = [*findings_of(found), *about, *(finding for each in stopped for finding in each.findings)]
        result = recall_dict(found, zone)
        lines = recall_lines(found, session, every=every)
    lines += [
        f"{stopping.serial} stopped: {stopping.where}" for stopping in stopped if stopping.entry is not None
    ]
    lines += [f"every reading is in {file}"] if file is not None else []
    lines += [f"the sheet is {sheet}"] if sheet is not None else []
    if stop:
        result["stopped"] = [stopping.as_dict() for stopping in stopped]
    return answer(result, findings, text="\n".join(lines), json_wanted=json_wanted)


def recall_lines(found: Recall, session: Session, *, every: bool) -> list[str]:
    """The answer as text: the question, the numbers, what fails and where it is, what still stands."""
    lines = [*_question(found, session), *_numbers(found)]
    lines += [_failing(serial) for serial in found.affected[:SHOWN]]
    if len(found.affected) > SHOWN:
        lines.append(f"and {len(found.affected) - SHOWN:,} more units; --csv lists them all")
    if every and found.units:
        lines.append(_every(found, session))
    standing = [serial for serial in found.units if not serial.failing]
    if standing and not every:
        more = f" and {len(standing) - NAMED} more" if len(standing) > NAMED else ""
        lines.append("still accepted: " + ", ".join(unit.unit.serial for unit in standing[:NAMED]) + more)
    return lines


def _question(found: Recall, session: Session) -> Iterator[str]:
    first = f"from {session.day(found.since)}" if found.since else "from the beginning"
    last = session.day(found.until) - timedelta(days=1)  # it ends with the midnight after the last day
    error = f"{found.error} (shown less true)"
    yield f"{found.gauge} with an error of {error}: readings {first} to {last}, {found.basis}"


def _numbers(found: Recall) -> Iterator[str]:
    counts = found.counts()
    yield (
        f"{_many(counts['readings'], 'reading')} of {_many(counts['units'], 'unit')}: "
        f"{counts['deciding']} decide, {counts['read_again']} read again later, {counts['struck']} struck out"
        + (f", {counts['not_corrected']} not corrected" if counts["not_corrected"] else "")
    )
    affected, gone = counts["units_affected"], counts["units_affected_shipped"]
    slots = _many(counts["slots_failing"], "slot")
    left = f"; {gone} of them shipped" if affected else ""
    yield f"{_many(affected, 'unit')} with {slots} would not have been accepted{left}"
    if counts["slots_clearing"]:
        yield f"{_many(counts['slots_clearing'], 'slot')} would have been better than was thought"


def _failing(unit: RecalledUnit) -> str:
    """One unit: where it is, and its slots that fail."""
    rows = [
        (
            reweighing.slot, reweighing.label, reweighing.acceptance or reweighing.limits or "",
            f"{reweighing.was} {reweighing.unit}",
            f"{reweighing.now} {reweighing.unit}", f"{reweighing.before} → {reweighing.after or 'not known'}",
            reweighing.beyond or "",
        )
        for reweighing in unit.failing
    ]  # fmt: skip
    inside = f", fitted in {', '.join(unit.fitted_in)}" if unit.fitted_in else ""
    title = f"{unit.unit.serial}: {unit.where}{inside}"
    return table(("slot", "what", "limits", "read", "without error", "state", "out by"), rows, title=title)


def _every(found: Recall, session: Session) -> str:
    from traveler.trace.recall import recall_rows

    rows = [
        (
            row["serial"], row["slot"], f"#{row['entry']}" if row["entry"] else "", row["read_on"],
            row["as_read"], row["corrected"], _states(row), row["remark"],
        )
        for row in recall_rows(found, session.shop.zone)
    ]  # fmt: skip
    return table(("serial", "slot", "entry", "read on", "read", "without error", "state", "remark"), rows)


def _states(row: dict[str, str]) -> str:
    if row["state_before"] == row["state_after"]:
        return row["state_before"]
    return f"{row['state_before']} → {row['state_after']}"


def _stop(session: Session, found: Recall, by: str) -> list[Stopping]:
    from traveler.jobs.stop import stop_affected

    here = sum(not serial.shipped for serial in found.affected)
    return list(watched(stop_affected(session, found, by), here, "stopping"))


def _watched(pieces: Iterable[Sequence[str]], total: int) -> Iterator[Sequence[str]]:
    return watched(pieces, total, "weighing")


def _many(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"
