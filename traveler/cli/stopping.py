"""``traveler stop``, ``decide`` and ``stops``: what is wrong, what is done about it, what is still open."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from traveler.cli.clock import moment, shown
from traveler.cli.options import At, By, Json, PinFile, Serial, Shop
from traveler.cli.present import CannotDo, answer, table
from traveler.cli.progress import watched
from traveler.cli.shop_at import session_at
from traveler.cli.signing import signed_in

if TYPE_CHECKING:
    from traveler.jobs.append import Added
    from traveler.jobs.stop import ListedSerial, Stopping
    from traveler.shop.session import Session
    from traveler.trace.floor import StoppedUnit

Decision = Literal["rework", "repair", "use_as_is", "scrap", "return_to_supplier", "no_fault"]


def register(app: typer.Typer) -> None:
    """Add ``stop``, ``decide`` and ``stops``."""
    app.command(name="stop")(stop)
    app.command(name="decide")(decide)
    app.command(name="stops")(stops)


def stop(
    what: Annotated[str, typer.Option("--what", metavar="TEXT", help="What is wrong.")],
    by: By,
    serials: Annotated[
        list[str] | None, typer.Argument(metavar="SERIAL", help="Serial numbers with their check characters.")
    ] = None,
    file: Annotated[
        Path | None,
        typer.Option(
            "--list", metavar="FILE", help="A list: a serial a line, or a CSV with a column serial."
        ),
    ] = None,
    slot: Annotated[
        str | None, typer.Option("--slot", metavar="SLOT", help="Stop this slot only, not the whole unit.")
    ] = None,
    at: At = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Stop units, wherever they are: on the floor, in stock, with the customer. Everybody may.

    A stopped unit is not released, crated, placed or shipped until somebody decides on it. With --list a
    whole list is stopped (- reads it from standard input); what cannot be stopped is told and does not hold
    up the rest, and a list may be given again.

    Example: traveler stop BW8-2639-0001N --what "Side plate dented" --by tkiln
    """
    from traveler.jobs.stop import ListedSerial
    from traveler.record.plans import checked_serials, known_unit

    asked = checked_serials(serials or ())
    listed = [ListedSerial(text) for text in asked]
    if file is not None:
        listed += _list(file)
    if not listed:
        problem = "say which units: SERIAL…, or --list FILE"
        raise CannotDo(problem)
    if slot is not None and (file is not None or len(listed) > 1):
        problem = "--slot goes with one serial"
        raise CannotDo(problem)
    with session_at(shop) as session:
        when = moment(at, session.shop.settings.time_zone, session.now)
        with session.store.reading() as records:
            for serial in asked:
                known_unit(records, serial)
        done = _stopped(session, listed, what, by, slot, when)
    findings = [finding for each in done for finding in each.findings]
    result = {"stopped": [each.as_dict() for each in done]}
    return answer(result, findings, text="\n".join(map(_told, done)), json_wanted=json_wanted)


def decide(
    serial: Serial,
    number: Annotated[int, typer.Argument(metavar="STOP", help="Number of the stop, from 'traveler stops'.")],
    decision: Annotated[Decision, typer.Option("--as", help="What is done about it.")],
    by: By,
    concession: Annotated[
        str | None, typer.Option("--concession", metavar="REF", help="Written consent, for use_as_is.")
    ] = None,
    text: Annotated[str, typer.Option("--text", metavar="TEXT", help="How, and why.")] = "",
    again: Annotated[
        list[str] | None,
        typer.Option(
            "--measure-again", metavar="SLOT", help="A slot, step or check to be measured after the rework."
        ),
    ] = None,
    at: At = None,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Decide on a stop: rework, repair, use as is under a concession, scrap, return, or no fault.

    After rework and repair the stopped slot, and everything named with --measure-again, must be measured
    again; the unit is inspected and released anew. Of two decisions on a stop the later counts.

    Example: traveler decide BW8-2639-0001N 41 --as rework --measure-again runout --by qmoor
    """
    from traveler.jobs.stop import Disposition
    from traveler.jobs.stop import decide as job
    from traveler.record.plans import checked_serial

    asked = checked_serial(serial)
    wanted = Disposition(decision, concession, text, tuple(again or ()))
    with session_at(shop) as session:
        when = moment(at, session.shop.settings.time_zone, session.now)
        action = "concede" if decision == "use_as_is" else "decide"
        added = job(signed_in(session, by, action, pin_file), asked, number, wanted, by, at=when)
    entry = added.entry
    result: dict[str, object] = {
        "serial": asked,
        "entry": entry.model_dump(mode="json") if entry is not None else None,
        "state": str(added.judged.verdict.state),
    }
    return answer(result, added.findings, text=_decided(asked, added, number), json_wanted=json_wanted)


def stops(
    every: Annotated[bool, typer.Option("--all", help="Those decided on as well.")] = False,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """List what is stopped and waits for a decision, the oldest first, and where each unit is.

    Example: traveler stops --all
    """
    from traveler.trace.floor import stops_of_shop

    with session_at(shop) as session:
        with session.store.reading() as records:
            found = stops_of_shop(records, every=every)
        zone = session.shop.settings.time_zone
    text = _table(found, zone, every=every) if found else "nothing is stopped"
    return answer({"stops": [serial.as_dict() for serial in found]}, text=text, json_wanted=json_wanted)


def _list(file: Path) -> list[ListedSerial]:
    """The serials of a list; ``-`` is standard input."""
    from traveler.jobs.stop import read_serials

    if str(file) == "-":
        return list(read_serials(sys.stdin.buffer.read(), "standard input"))
    if not file.is_file():
        what = f"there is no file {file}"
        raise CannotDo(what, "nothing was stopped")
    return list(read_serials(file.read_bytes(), str(file)))


def _stopped(
    session: Session, listed: list[ListedSerial], what: str, by: str, slot: str | None, at: datetime
) -> list[Stopping]:
    from traveler.jobs.stop import stop as one_unit
    from traveler.jobs.stop import stop_all

    if slot is not None:
        return [one_unit(session, listed[0].text, what, by, slot=slot, at=at)]
    return list(watched(stop_all(session, listed, what, by, at=at), len(listed), "stopping"))


def _told(stopping: Stopping) -> str:
    if stopping.entry is None:
        return f"{stopping.serial}: not stopped"
    done = f"#{stopping.entry.seq}" + ("" if stopping.new else ", stopped before")
    slot = f" at {stopping.entry.slot}" if stopping.entry.slot is not None else ""
    return f"{stopping.serial} {done}{slot}: {stopping.where}"


def _decided(serial: str, added: Added, number: int) -> str:
    from traveler.jobs.stop import to_do
    from traveler.record.entry import Decided

    if added.entry is None or not isinstance(added.entry.body, Decided):
        return f"{serial}: nothing decided, it stays {added.judged.verdict.state}"
    body = added.entry.body
    what = body.decision.replace("_", " ")
    follows = to_do(body.decision, body.measure_again)
    return f"{serial} #{added.entry.seq}: {what} decided on #{number}; {follows}"


def _table(found: tuple[StoppedUnit, ...], zone: str, *, every: bool) -> str:
    columns = ["serial", "stop", "since", "slot", "what", "by", "where it is"]
    rows = [
        [
            serial.unit.serial,
            f"#{serial.stop.entry.seq}",
            shown(serial.stop.entry.at, zone),
            serial.stop.slot or "",
            serial.stop.what,
            serial.stop.entry.by,
            serial.where,
            *([serial.state] if every else []),
        ]
        for serial in found
    ]
    return table([*columns, "decided"] if every else columns, rows)
