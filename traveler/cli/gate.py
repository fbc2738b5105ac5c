"""The gate: ``stop`` and decisions on stops; ``release``, ``crate``, ``place`` and ``ship``."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from traveler.cli.answer import Answer, Column, table, unless, watched
from traveler.cli.request import (
    Request,
    Serial,
    Serials,
    Slot,
    SomeSerials,
    arg,
    command,
    flag,
    opt,
    shown,
)
from traveler.cli.unit import all_named, named
from traveler.finding import CannotDo, Finding

if TYPE_CHECKING:
    from traveler.jobs.append import Appended
    from traveler.jobs.stop import ListedSerial, Stopping
    from traveler.shop.session import Session
    from traveler.trace.floor import StoppedUnit

    Step = Callable[[Session, str, datetime], Appended]


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
    undone = unless(any(stopping.entry for stopping in done), "Nothing was stopped.")
    result = {"stopped": [stopping.as_dict() for stopping in done]}
    return Answer(result, map(_line, done), findings, undone=undone)


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
    return Answer(result, [_decided(asked, added, number)], added.findings, undone=unless(entry))


def _decided(serial: str, added: Appended, number: int) -> str:
    from traveler.jobs.stop import to_do
    from traveler.record.entry import Decided

    if added.entry is None or not isinstance(added.entry.body, Decided):
        return f"{serial}: nothing decided; its state is '{added.judged.verdict.state}'"
    body = added.entry.body
    follows = to_do(body.decision, body.measure_again)
    return f"{serial} #{added.entry.seq}: {body.decision.replace('_', ' ')} decided on #{number}; {follows}"


@command("unit stops")
def stops(
    request: Request, every: Annotated[bool, flag("Also those decided on.", "--all")] = False
) -> Answer:
    """List the stops that wait for a decision, the oldest first.

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


@command("release", by="needed", at=True, pin=True, language=True)
def release(request: Request, serials: Serials) -> Answer:
    """Release units: quality has reviewed the record.

    Refused with every finding that blocks. Nobody who signed a build operation of a unit releases it. The
    certificate, arrival check, packing list and labels are written.

    Example: traveler release BW8-2639-0001N --by qmoor
    """
    from traveler.jobs.shipping import release as job

    return _steps(request, serials, "release", "released", lambda o, s, t: job(o, s, request.person, t))


@command("crate", by="needed", at=True, pin=True, language=True)
def crate(request: Request, serials: Serials) -> Answer:
    """Close the crates of released units.

    All slots of the crating must be recorded, and the gross mass must be as expected.

    Example: traveler crate BW8-2639-0001N --by pstrap
    """
    from traveler.jobs.shipping import crate as job

    return _steps(request, serials, "crate", "crated", lambda o, s, t: job(o, s, request.person, t))


@command("place", by="needed", at=True, pin=True)
def place(
    request: Request,
    serials: Serials,
    to: Annotated[str, opt("PLACE", "Where in stock.")],
) -> Answer:
    """Put crated units in stock, or move them.

    Example: traveler place BW8-2639-0001N --to "Bay 3" --by pstrap
    """
    from traveler.jobs.shipping import place as job

    where = _named(to, "place")
    return _steps(request, serials, "place", "placed", lambda o, s, t: job(o, s, where, request.person, t))


@command("ship", by="needed", at=True, pin=True, language=True)
def ship(
    request: Request,
    serials: Serials,
    to: Annotated[str, opt("CUSTOMER", "Customer.")],
    carrier: Annotated[str | None, opt("NAME", "Carrier.")] = None,
    reference: Annotated[str | None, opt("REF", "Waybill or delivery note.")] = None,
) -> Answer:
    """Ship units to a customer.

    The crate leaves, and its label is written again with the name.

    Example: traveler ship BW8-2639-0001N --to "Aldermoor Weavers" --carrier "own van" --by sdock
    """
    from traveler.jobs.shipping import ship as job
    from traveler.record.entry import Shipped

    leaves = Shipped(customer=_named(to, "customer"), carrier=carrier, reference=reference)
    return _steps(request, serials, "ship", "shipped", lambda o, s, t: job(o, s, leaves, request.person, t))


def _named(text: str, thing: str) -> str:
    if not text.strip():
        what = f"--to names no {thing}"
        raise CannotDo(what)
    return text.strip()


def _steps(request: Request, serials: Sequence[str], action: str, done: str, step: Step) -> Answer:
    """Takes the step for each unit; a unit that is refused does not hold up the others."""
    from traveler.sheets.batch.catalog import step_sheets

    lines: list[str] = []
    units: list[dict[str, object]] = []
    findings: list[Finding] = []
    with request.session() as opened:
        asked, when = all_named(opened, serials), request.moment(opened)
        session = request.signed(opened, action)
        for serial in asked:
            taken = step(session, serial, when)
            printed = step_sheets(session, taken.judged, done) if taken.taken else None
            state = str(taken.judged.verdict.state)
            files = printed.files if printed else ()
            findings += [*taken.findings, *(printed.findings if printed else ())]
            lines.append(
                f"{serial}: {done}" if taken.taken else f"{serial}: not {done}; its state is '{state}'"
            )
            lines += [f"  {file}" for file in files]
            written = [str(file) for file in files]
            units.append({"serial": serial, "done": taken.taken, "state": state, "files": written})
    undone = unless(any(unit["done"] for unit in units), f"Nothing was {done}.")
    return Answer({"units": units}, lines, findings, undone=undone)
