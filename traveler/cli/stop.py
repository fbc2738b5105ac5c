"""Nonconformances: ``stop``, and the decisions on stops in ``unit stops`` and ``unit decide``."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from traveler.cli.answer import Answer, Column, table, watched
from traveler.cli.options import All, Serial, Slot, SomeSerials, arg, flag, opt
from traveler.cli.request import Request, command, shown
from traveler.cli.unit import all_named, named
from traveler.finding import CannotDo

if TYPE_CHECKING:
    from traveler.jobs.append import Appended
    from traveler.jobs.stop import ListedSerial, Stopping
    from traveler.shop.session import Session
    from traveler.trace.floor import StoppedUnit

Decision = Literal["rework", "repair", "use-as-is", "scrap", "return-to-supplier", "no-fault"]


@command("stop", by="needed", at=True)
def stop(
    request: Request,
    reason: Annotated[str, opt("TEXT", "What is wrong.")],
    serials: SomeSerials = None,
    file: Annotated[
        Path | None, opt("FILE", "A list: a serial a line, or a CSV with a column serial.")
    ] = None,
    slot: Slot = None,
) -> Answer:
    """Stop units, wherever they are. Everybody may.

    A stopped unit is not released, crated, placed or shipped until somebody decides on it. --slot stops one
    slot. --file stops a whole list (- is standard input); units that cannot be stopped are listed, the
    others are stopped. A list may be given again.

    Example: traveler stop BW8-2639-0001N --reason "Side plate dented" --by tkiln
    """
    from traveler.jobs.stop import ListedSerial

    if not serials and file is None:
        problem = "which units?"
        raise CannotDo(problem, "give SERIAL, or --file FILE")
    if slot is not None and (file is not None or len(serials or ()) != 1):
        problem = "--slot goes with one serial"
        raise CannotDo(problem)
    with request.session() as session:
        listed = [ListedSerial(serial) for serial in all_named(session, serials or ())]
        listed += _list(file) if file is not None else []
        if not listed:
            problem = f"there is no serial in {file}"
            raise CannotDo(problem, "nothing was stopped")
        done = _stopped(session, listed, reason, request.person, slot, request.moment(session))
    findings = [finding for stopping in done for finding in stopping.findings]
    return Answer({"stopped": [stopping.as_dict() for stopping in done]}, map(_line, done), findings)


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
    session: Session, listed: Sequence[ListedSerial], reason: str, by: str, slot: str | None, at: datetime
) -> list[Stopping]:
    from traveler.jobs.stop import stop as stop_unit
    from traveler.jobs.stop import stop_all

    if slot is not None:
        return [stop_unit(session, listed[0].text, reason, by, slot=slot, at=at)]
    return list(watched(stop_all(session, listed, reason, by, at=at), len(listed), "stopping"))


def _line(done: Stopping) -> str:
    if done.entry is None:
        return f"{done.serial}: not stopped"
    number = f"#{done.entry.seq}" + ("" if done.new else ", stopped before")
    slot = f" at {done.entry.slot}" if done.entry.slot is not None else ""
    return f"{done.serial} {number}{slot}: {done.where}"


@command("unit decide", by="needed", at=True, pin=True)
def decide(
    request: Request,
    serial: Serial,
    number: Annotated[int, arg("STOP", "Number of the stop, from 'unit stops'.")],
    decision: Annotated[Decision, flag("What is done about it.", "--as")],
    concession: Annotated[str | None, opt("REF", "Written consent, for use-as-is.")] = None,
    reason: Annotated[str, opt("TEXT", "How, and why.")] = "",
    again: Annotated[
        list[str] | None,
        opt("SLOT", "Slot, step or check to measure after the rework; may repeat.", "--measure-again"),
    ] = None,
) -> Answer:
    """Decide on a stop: rework, use as is, scrap ...

    After rework and repair the stopped slot, and all that --measure-again names, must be measured again;
    then the unit is inspected and released again. Of two decisions on a stop the later counts.

    Example: traveler unit decide BW8-2639-0001N 41 --as rework --measure-again runout --by qmoor
    """
    from traveler.jobs.stop import Disposition
    from traveler.jobs.stop import decide as job

    word = decision.replace("-", "_")
    wanted = Disposition(word, concession, reason, tuple(again or ()))  # type: ignore[arg-type]
    with request.session("concede" if word == "use_as_is" else "decide") as session:
        asked, when = named(session, serial), request.moment(session)
        added = job(session, asked, number, wanted, request.person, at=when)
    entry = added.entry
    result: dict[str, object] = {
        "serial": asked,
        "entry": entry.model_dump(mode="json") if entry is not None else None,
        "state": str(added.judged.verdict.state),
    }
    return Answer(result, [_decided(asked, added, number)], added.findings)


def _decided(serial: str, added: Appended, number: int) -> str:
    from traveler.jobs.stop import to_do
    from traveler.record.entry import Decided

    if added.entry is None or not isinstance(added.entry.body, Decided):
        return f"{serial}: nothing decided; its state is '{added.judged.verdict.state}'"
    body = added.entry.body
    follows = to_do(body.decision, body.measure_again)
    return f"{serial} #{added.entry.seq}: {body.decision.replace('_', ' ')} decided on #{number}; {follows}"


@command("unit stops")
def stops(request: Request, every: All = False) -> Answer:
    """List the stops that wait for a decision, the oldest first.

    --all adds those decided on.

    Example: traveler unit stops --all
    """
    from traveler.trace.floor import stops_of_shop

    with request.session() as session:
        with session.store.reading() as records:
            found = stops_of_shop(records, every=every)
        zone = session.shop.settings.time_zone
    lines = [_table(found, zone, every=every)] if found else ["nothing is stopped"]
    return Answer({"stops": [stopped.as_dict() for stopped in found]}, lines)


def _table(found: Sequence[StoppedUnit], zone: str, *, every: bool) -> str:
    columns: list[str | Column] = [
        "serial", "stop", Column("since", drop=2), "slot", Column("what is wrong", text=True),
        Column("by", drop=3), Column("where it is", text=True, drop=1),
    ]  # fmt: skip
    rows = [
        [
            stopped.unit.serial,
            f"#{stopped.stop.entry.seq}",
            shown(stopped.stop.entry.at, zone),
            stopped.stop.slot or "",
            stopped.stop.what,
            stopped.stop.entry.by,
            stopped.where,
            *([stopped.state] if every else []),
        ]
        for stopped in found
    ]
    return table([*columns, *(["decided"] if every else [])], rows)
