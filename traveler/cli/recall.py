"""``gauge recall``: which readings a wrong gauge spoiled, and where their units are."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from traveler.cli.answer import Answer, Column, table, watched
from traveler.cli.gauge import ThisGauge
from traveler.cli.request import Reports, Request, command, flag, maybe_day, opt
from traveler.finding import CannotDo, Finding
from traveler.text import plural

if TYPE_CHECKING:
    from traveler.jobs.stop import Stopping
    from traveler.shop.session import Session
    from traveler.trace.recall import Recall, RecalledUnit

SHOWN = 25
"""So many units that fail are shown with their slots; the list has them all."""

NAMED = 12
"""So many units that are still accepted are named; the list has them all."""


@command("gauge recall", by="optional", pin=True)
def recall(
    request: Request,
    gauge: ThisGauge,
    error: Annotated[
        str | None,
        opt("ERROR", 'What it showed too much (+) or too little (-): "+0.02 mm", "-0.5 %", or both. Without '
            "it: as its last calibration in gauges.yaml."),
    ] = None,
    since: Annotated[
        str | None,
        opt("DAY", "First day. Without it: that of its last good calibration.")
    ] = None,
    until: Annotated[
        str | None, opt("DAY", "Last day. Without it: the day the error was found.")
    ] = None,
    to: Reports = None,
    every: Annotated[bool, flag("Show every reading, not only what changes.", "--all")] = False,
    stop: Annotated[bool, flag("Stop the affected units that are here (with --by).", "--stop")] = False,
) -> Answer:  # fmt: skip
    """Judge again what a wrong gauge measured.

    The error is taken off every reading since its last good calibration. Shown is each unit that would not
    have been accepted: by how much, and where it is now. --to writes a list (.csv) or a sheet for the
    auditor (.pdf, .html). Exit code 1 if a unit would not have been accepted.

    Example: traveler gauge recall IND-03 --error "+0.02 mm" --to affected.csv
    """
    from traveler.trace.recall import RecallRequest, findings_of
    from traveler.trace.recall import recall as job
    from traveler.trace.reports import recall_dict

    if stop and request.by is None:
        what = "--stop needs to know who stops them"
        raise CannotDo(what, "name yourself with --by ID")
    lists, sheets = _files(to or ())
    asked = RecallRequest(gauge, error, maybe_day(since), maybe_day(until))
    with request.session() as session:
        found = job(session, asked, lambda pieces, total: watched(pieces, total, "judging"))
        about = _written(session, found, lists, sheets)
        stopped = _stop(request.signed(session, "stop"), found, request.person) if stop else []
        findings = [
            *findings_of(found),
            *about,
            *(each for stopping in stopped for each in stopping.findings),
        ]
        result = recall_dict(found, session.shop.zone)
        lines = list(_lines(found, session, every=every))
    lines += [f"{stopping.serial} stopped: {stopping.where}" for stopping in stopped if stopping.entry]
    lines += [f"wrote {file}" for file in (*lists, *sheets)]
    if stop:
        result["stopped"] = [stopping.as_dict() for stopping in stopped]
    return Answer(result, lines, findings)


def _files(to: Sequence[Path]) -> tuple[list[Path], list[Path]]:
    """The lists (.csv) and the sheets among the files named.

    Raises:
        CannotDo: one has another ending.
    """
    lists = [file for file in to if file.suffix.lower() == ".csv"]
    sheets = [file for file in to if file.suffix.lower() in (".pdf", ".html", ".htm")]
    for file in to:
        if file not in lists and file not in sheets:
            what = f"--to {file}: no such kind of file"
            raise CannotDo(what, "name it .csv for the list, .pdf or .html for the sheet")
    return lists, sheets


def _written(session: Session, found: Recall, lists: Sequence[Path], sheets: Sequence[Path]) -> list[Finding]:
    from traveler.files import write_whole
    from traveler.trace.reports import recall_csv, write_recall

    for file in lists:
        write_whole(file, recall_csv(found, session.shop.zone).encode())
    return [finding for file in sheets for finding in write_recall(session, found, file)]


def _stop(session: Session, found: Recall, by: str) -> list[Stopping]:
    from traveler.jobs.stop import stop_affected

    here = sum(not unit.shipped for unit in found.affected)
    return list(watched(stop_affected(session, found, by), here, "stopping"))


def _lines(found: Recall, session: Session, *, every: bool) -> Iterator[str]:
    """The answer as text: the question, the numbers, what fails and where it is, what is still accepted."""
    first = f"from {session.day(found.since)}" if found.since else "from the beginning"
    last = session.day(found.until) - timedelta(days=1)  # it ends with the midnight after the last day
    error = f"{found.error} (shown less true)"
    yield f"{found.gauge} with an error of {error}: readings {first} to {last}, {found.basis}"
    yield from _numbers(found)
    yield from map(_failing, found.affected[:SHOWN])
    if len(found.affected) > SHOWN:
        yield f"and {len(found.affected) - SHOWN:,} more units; --to FILE.csv lists them all"
    if every and found.units:
        yield _every(found, session)
    accepted = [unit for unit in found.units if not unit.failing]
    if accepted and not every:
        more = f" and {len(accepted) - NAMED} more" if len(accepted) > NAMED else ""
        yield "still accepted: " + ", ".join(unit.unit.serial for unit in accepted[:NAMED]) + more


def _numbers(found: Recall) -> Iterator[str]:
    counts = found.counts()
    yield (
        f"{plural(counts['readings'], 'reading')} of {plural(counts['units'], 'unit')}: "
        f"{counts['deciding']} decide, {counts['read_again']} read again later, {counts['struck']} struck out"
        + (f", {counts['not_corrected']} not corrected" if counts["not_corrected"] else "")
    )
    affected, gone = counts["units_affected"], counts["units_affected_shipped"]
    left = f"; {gone} of them shipped" if affected else ""
    slots = plural(counts["slots_failing"], "slot")
    yield f"{plural(affected, 'unit')} with {slots} would not have been accepted{left}"
    if counts["slots_clearing"]:
        yield f"{plural(counts['slots_clearing'], 'slot')} would have been better than recorded"


def _failing(unit: RecalledUnit) -> str:
    """One unit: where it is, and its slots that fail."""
    from traveler.trace.reports import failing_rows

    columns = (
        "slot", Column("label", text=True, drop=2), Column("limits", drop=3), "read", "without error",
        Column("state", drop=1), "out by",
    )  # fmt: skip
    inside = f", fitted in {', '.join(unit.fitted_in)}" if unit.fitted_in else ""
    return table(columns, failing_rows(unit), title=f"{unit.unit.serial}: {unit.where}{inside}")


def _every(found: Recall, session: Session) -> str:
    from traveler.trace.reports import recall_rows

    rows = [
        (
            row["serial"], row["slot"], f"#{row['entry']}" if row["entry"] else "", row["read_on"],
            row["as_read"], row["corrected"], _states(row), row["remark"],
        )
        for row in recall_rows(found, session.shop.zone)
    ]  # fmt: skip
    columns = (
        "serial", "slot", Column("entry", drop=3), Column("read on", drop=2), "read", "without error",
        Column("state", drop=1), Column("remark", text=True, drop=4),
    )  # fmt: skip
    return table(columns, rows)


def _states(row: Mapping[str, str]) -> str:
    before, after = row["state_before"], row["state_after"]
    return before if before == after else f"{before} → {after}"
