"""``traveler record``, ``note`` and ``strike``: what was done comes into the records."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.clock import moment
from traveler.cli.options import At, By, Json, PinFile, Serial, Shop
from traveler.cli.present import CannotDo, answer
from traveler.cli.shop_at import session_at
from traveler.cli.signing import signed_in

if TYPE_CHECKING:
    from traveler.jobs.append import Added
    from traveler.jobs.record import FileRecorded

LARGEST = 100_000_000
"""Bytes of a file of results."""


def register(app: typer.Typer) -> None:
    """Add ``record``, ``note`` and ``strike``."""
    app.command(name="record")(record)
    app.command(name="note")(note)
    app.command(name="strike")(strike)


def record(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE", help="Filled travelers (PDF) and results (.csv, .yaml).")
    ],
    by: Annotated[
        str | None, typer.Option("--by", metavar="ID", help="Who did what a file names nobody for.")
    ] = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Record results from files, in any mix, and judge their units at once.

    Each file is taken as a whole or not at all, with every problem listed; a file given again adds nothing.
    A reading that is out is told with which way and how far to adjust.

    Example: traveler record results.csv travelers/BW8-2639-0001N/traveler.pdf
    """
    from traveler.cli.verdict_text import unit_line
    from traveler.jobs.record import record as job
    from traveler.verdict.advice import advice_lines

    contents = [(path, _content(path)) for path in files]
    with session_at(shop) as session:
        done = job(session, contents, by)
        advice = [line for unit in done.units for line in advice_lines(unit)]
    findings = [finding for file in done.files for finding in file.findings]
    findings += [finding for unit in done.units for finding in unit.verdict.findings]
    lines = [_file_line(file) for file in done.files]
    lines += [unit_line(unit) for unit in done.units] + advice
    result = {
        "files": [file.as_dict() for file in done.files],
        "units": [unit.verdict.as_dict() for unit in done.units],
        "advice": advice,
    }
    return answer(result, dict.fromkeys(findings), text="\n".join(lines), json_wanted=json_wanted)


def note(
    serial: Serial,
    text: Annotated[str, typer.Argument(metavar="TEXT", help="What there is to say.")],
    by: By,
    slot: Annotated[str | None, typer.Option("--slot", metavar="SLOT", help="The slot it is about.")] = None,
    at: At = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Write a remark into a unit's record.

    Example: traveler note BW8-2639-0001N "Customer asked for the long cable." --by rhale
    """
    from traveler.jobs.append import note as job
    from traveler.record.plans import checked_serial

    asked = checked_serial(serial)
    with session_at(shop) as session:
        when = moment(at, session.shop.settings.time_zone, session.now)
        added = job(session, asked, text, by, slot=slot, at=when)
    return _answer(added, "noted", json_wanted=json_wanted)


def strike(
    serial: Serial,
    seq: Annotated[int, typer.Argument(metavar="NUMBER", help="Of the entry, from 'traveler trace'.")],
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why it is wrong.")],
    by: By,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Strike out an entry of a unit: it stays legible and counts no more.

    Everybody may strike out what they wrote themselves; quality may strike out what others wrote.

    Example: traveler strike BW8-2639-0001N 17 --reason "Read at the wrong spindle." --by tkiln
    """
    from traveler.jobs.append import strike as job
    from traveler.jobs.append import strike_action
    from traveler.record.plans import checked_serial

    asked = checked_serial(serial)
    with session_at(shop) as session:
        action = strike_action(session, asked, seq, by)
        added = job(signed_in(session, by, action, pin_file), asked, seq, reason, by)
    return _answer(added, f"struck out #{seq}", json_wanted=json_wanted)


def _content(path: Path) -> bytes:
    if not path.is_file():
        what = f"there is no file {path}"
        raise CannotDo(what, "nothing was recorded")
    if path.stat().st_size > LARGEST:
        what = f"{path} has {path.stat().st_size:,} bytes"
        raise CannotDo(what, "is this a file of results? Nothing was recorded")
    return path.read_bytes()


def _file_line(file: FileRecorded) -> str:
    if file.added or file.known:
        return f"{file.file}: {file.serial}, {_entries(file.added)} added, {file.known} there already"
    return f"{file.file}: nothing recorded" + (f" for {file.serial}" if file.serial else "")


def _entries(count: int) -> str:
    return "1 entry" if count == 1 else f"{count} entries"


def _answer(added: Added, done: str, *, json_wanted: bool) -> int:
    entry = added.entry
    result: dict[str, object] = {
        "serial": added.judged.unit.serial,
        "entry": entry.model_dump(mode="json") if entry is not None else None,
    }
    said = f"{added.judged.unit.serial} #{entry.seq}: {done}" if entry is not None else ""
    return answer(result, added.findings, text=said, json_wanted=json_wanted)
