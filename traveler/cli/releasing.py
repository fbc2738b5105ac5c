"""``traveler release``, ``crate``, ``place`` and ``ship``: the steps of a unit's life after the build."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.clock import moment
from traveler.cli.options import At, By, Json, Language, PinFile, Serials, Shop
from traveler.cli.present import CannotDo, answer
from traveler.cli.shop_at import session_at
from traveler.cli.signing import Signer

if TYPE_CHECKING:
    from traveler.jobs.shipping import StepTaken
    from traveler.shop.session import Session

    Step = Callable[[Session, str, datetime], StepTaken]


@dataclass(frozen=True, slots=True)
class Asked:
    """Which units are to be ``done`` (released, crated, placed, shipped), and who signs that when."""

    serials: list[str]
    done: str
    signer: Signer
    at: str | None
    language: str | None
    shop: Path | None


def register(app: typer.Typer) -> None:
    """Add ``release``, ``crate``, ``place`` and ``ship``."""
    app.command(name="release")(release)
    app.command(name="crate")(crate)
    app.command(name="place")(place)
    app.command(name="ship")(ship)


def release(
    serials: Serials,
    by: By,
    at: At = None,
    language: Language = None,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Release units: quality has reviewed the record, and nothing stands in the way.

    Refused with every finding that blocks; who signed a build operation cannot release. On success the
    certificate, arrival check, packing list and labels are written.

    Example: traveler release BW8-2639-0001N --by qmoor
    """
    from traveler.jobs.shipping import release as job

    asked = Asked(serials, "released", Signer(by, "release", pin_file), at, language, shop)
    return _steps(asked, lambda o, s, t: job(o, s, by, t), json_wanted=json_wanted)


def crate(
    serials: Serials,
    by: By,
    at: At = None,
    language: Language = None,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Close the crate of released units: everything of the crating is recorded and the gross mass is right.

    Example: traveler crate BW8-2639-0001N --by pstrap
    """
    from traveler.jobs.shipping import crate as job

    asked = Asked(serials, "crated", Signer(by, "crate", pin_file), at, language, shop)
    return _steps(asked, lambda o, s, t: job(o, s, by, t), json_wanted=json_wanted)


def place(
    serials: Serials,
    where: Annotated[str, typer.Option("--where", metavar="PLACE", help="Where in stock the crate stands.")],
    by: By,
    at: At = None,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Put crated units in stock, or move them to another place.

    Example: traveler place BW8-2639-0001N --where "Bay 3" --by pstrap
    """
    from traveler.jobs.shipping import place as job

    named = _named(where, "--where names no place")
    asked = Asked(serials, "placed", Signer(by, "place", pin_file), at, None, shop)
    return _steps(asked, lambda o, s, t: job(o, s, named, by, t), json_wanted=json_wanted)


def ship(
    serials: Serials,
    to: Annotated[str, typer.Option("--to", metavar="CUSTOMER", help="Who gets it.")],
    by: By,
    carrier: Annotated[str | None, typer.Option("--carrier", metavar="NAME", help="Who carries it.")] = None,
    reference: Annotated[
        str | None, typer.Option("--reference", metavar="REF", help="Waybill or delivery note.")
    ] = None,
    at: At = None,
    language: Language = None,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Ship units: the crate leaves stock for a customer.

    Example: traveler ship BW8-2639-0001N --to "Aldermoor Weavers" --carrier "own van" --by sdock
    """
    from traveler.jobs.shipping import ship as job
    from traveler.record.entry import Shipped

    leaves = Shipped(customer=_named(to, "--to names no customer"), carrier=carrier, reference=reference)
    asked = Asked(serials, "shipped", Signer(by, "ship", pin_file), at, language, shop)
    return _steps(asked, lambda o, s, t: job(o, s, leaves, by, t), json_wanted=json_wanted)


def _named(text: str, problem: str) -> str:
    if not text.strip():
        raise CannotDo(problem)
    return text.strip()


def _steps(asked: Asked, step: Step, *, json_wanted: bool) -> int:
    """Takes the step for each unit; one that is refused does not hold up the others."""
    from traveler.record.plans import checked_serials, known_unit
    from traveler.sheets.batch.catalog import step_sheets

    serials, done = checked_serials(asked.serials), asked.done
    taken: list[StepTaken] = []
    lines: list[str] = []
    units: list[dict[str, object]] = []
    findings = []
    with session_at(asked.shop, asked.language) as opened:
        when = moment(asked.at, opened.shop.settings.time_zone, opened.now)
        with opened.store.reading() as records:
            for serial in serials:
                known_unit(records, serial)
        session = asked.signer.signed(opened)
        for serial in serials:
            taken.append(step(session, serial, when))
            printed = step_sheets(session, taken[-1].judged, done) if taken[-1].taken else None
            findings += [*taken[-1].findings, *(printed.findings if printed else ())]
            lines += _told(serial, done, taken[-1])
            lines += [f"  {file}" for file in (printed.files if printed else ())]
            files = [str(file) for file in (printed.files if printed else ())]
            state = str(taken[-1].judged.verdict.state)
            units.append({"serial": serial, "done": taken[-1].taken, "state": state, "files": files})
    return answer({"units": units}, findings, text="\n".join(lines), json_wanted=json_wanted)


def _told(serial: str, done: str, step: StepTaken) -> list[str]:
    if step.taken:
        return [f"{serial}: {done}"]
    return [f"{serial}: not {done}, it stays {step.judged.verdict.state}"]
