"""The steps of a unit after the build: ``release``, ``crate``, ``place`` and ``ship``."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Annotated

from traveler.cli.answer import Answer
from traveler.cli.options import Serials, opt
from traveler.cli.request import Request, command
from traveler.cli.unit import all_named
from traveler.finding import CannotDo, Finding

if TYPE_CHECKING:
    from traveler.jobs.append import Appended
    from traveler.shop.session import Session

    Step = Callable[[Session, str, datetime], Appended]


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
    to: Annotated[str, opt("CUSTOMER", "Who gets it.")],
    carrier: Annotated[str | None, opt("NAME", "Who carries it.")] = None,
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
    return Answer({"units": units}, lines, findings)
