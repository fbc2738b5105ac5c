"""``traveler release``, ``crate``, ``place`` and ``ship``: the steps of a unit's life after the build."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.clock import moment
from traveler.cli.options import At, By, Json, Serials, Shop
from traveler.cli.present import CannotDo, answer
from traveler.cli.shop_at import office_at

if TYPE_CHECKING:
    from traveler.jobs.life import StepTaken
    from traveler.jobs.office import Office

    Step = Callable[[Office, str, datetime], StepTaken]


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
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Release units: quality has reviewed the record, and nothing stands in the way.

    Refused with every finding that blocks; who signed a build operation cannot release. On success the
    certificate, arrival check, packing list and labels are written.

    Example: traveler release BW8-2639-0001N --by qmoor
    """
    from traveler.jobs.life import release as job

    return _steps(serials, "released", at, shop, json_wanted, lambda o, s, t: job(o, s, by, t))


def crate(
    serials: Serials,
    by: By,
    at: At = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Close the crate of released units: everything of the crating is recorded and the gross mass is right.

    Example: traveler crate BW8-2639-0001N --by pstrap
    """
    from traveler.jobs.life import crate as job

    return _steps(serials, "crated", at, shop, json_wanted, lambda o, s, t: job(o, s, by, t))


def place(
    serials: Serials,
    where: Annotated[str, typer.Option("--where", metavar="PLACE", help="Where in stock the crate stands.")],
    by: By,
    at: At = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Put crated units in stock, or move them to another place.

    Example: traveler place BW8-2639-0001N --where "Bay 3" --by pstrap
    """
    from traveler.jobs.life import place as job

    named = _named(where, "--where names no place")
    return _steps(serials, "placed", at, shop, json_wanted, lambda o, s, t: job(o, s, named, by, t))


def ship(
    serials: Serials,
    to: Annotated[str, typer.Option("--to", metavar="CUSTOMER", help="Who gets it.")],
    by: By,
    carrier: Annotated[str | None, typer.Option("--carrier", metavar="NAME", help="Who carries it.")] = None,
    reference: Annotated[
        str | None, typer.Option("--reference", metavar="REF", help="Waybill or delivery note.")
    ] = None,
    at: At = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Ship units: the crate leaves stock for a customer.

    Example: traveler ship BW8-2639-0001N --to "Aldermoor Weavers" --carrier "own van" --by sdock
    """
    from traveler.jobs.life import ship as job
    from traveler.record.entry import Shipped

    leaves = Shipped(customer=_named(to, "--to names no customer"), carrier=carrier, reference=reference)
    return _steps(serials, "shipped", at, shop, json_wanted, lambda o, s, t: job(o, s, leaves, by, t))


def _named(text: str, problem: str) -> str:
    if not text.strip():
        raise CannotDo(problem)
    return text.strip()


def _steps(serials: list[str], done: str, at: str | None, shop: Shop, json_wanted: bool, step: Step) -> int:
    """Takes the step for each unit; one that is refused does not hold up the others."""
    from traveler.jobs.sheets import step_sheets
    from traveler.jobs.units import checked_serials, known_unit

    asked = checked_serials(serials)
    taken: list[StepTaken] = []
    lines: list[str] = []
    units: list[dict[str, object]] = []
    findings = []
    with office_at(shop) as office:
        when = moment(at, office.shop.settings.time_zone, office.now)
        with office.store.reading() as records:
            for serial in asked:
                known_unit(records, serial)
        for serial in asked:
            taken.append(step(office, serial, when))
            printed = step_sheets(office, taken[-1].judged, done) if taken[-1].taken else None
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
