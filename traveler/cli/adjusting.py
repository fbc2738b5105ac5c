"""``traveler adjust``: how to bring a check in, and what was done about it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.clock import moment
from traveler.cli.options import At, Json, Serial, Shop
from traveler.cli.present import CannotDo, answer
from traveler.cli.shop_at import office_at

if TYPE_CHECKING:
    from traveler.jobs.adjust import AdjustmentKept, Done
    from traveler.jobs.advise import CheckAdvice
    from traveler.jobs.office import Office


def register(app: typer.Typer) -> None:
    """Add ``adjust``."""
    app.command(name="adjust")(adjust)


def adjust(
    serial: Serial,
    check: Annotated[str, typer.Argument(metavar="CHECK", help="Id of the check, or one of its slots.")],
    done: Annotated[
        str | None, typer.Option("--done", metavar="TEXT", help="Record that this was done.")
    ] = None,
    amount: Annotated[
        str | None, typer.Option("--amount", metavar="TURNS", help="How far: '1/4 turn clockwise'.")
    ] = None,
    followed: Annotated[
        bool | None, typer.Option("--followed/--not-followed", help="Whether it was as advised.")
    ] = None,
    by: Annotated[str | None, typer.Option("--by", metavar="ID", help="Who adjusted.")] = None,
    at: At = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Say how far to adjust what and which way, worked out from the readings recorded so far.

    With --done the adjustment is recorded, beside the advice and whether it was followed. Advice is advice:
    whoever adjusts decides.

    Example: traveler adjust SERIAL belt-pull --done "tension screw" --amount "1/2 turn clockwise" --by tkiln
    """
    from traveler.jobs.adjust import Done, advice_for
    from traveler.jobs.judge import judge
    from traveler.jobs.units import checked_serial

    asked = checked_serial(serial)
    if done is None:
        if amount is not None or followed is not None or at is not None:
            what = "--amount, --followed and --at go with --done"
            raise CannotDo(what, "say what was done")
        with office_at(shop) as office, office.store.reading() as records:
            found = advice_for(judge(office, records, asked), check)
        result = {"serial": asked, "advice": [one.as_dict() for one in found]}
        return answer(result, text="\n".join(_line(one) for one in found), json_wanted=json_wanted)
    if by is None:
        what = "who adjusted?"
        raise CannotDo(what, "give --by ID")
    with office_at(shop) as office:
        when = moment(at, office.shop.settings.time_zone, office.now)
        kept = _keep(office, asked, check, Done(done, by, amount, followed, when))
    result = {"serial": asked, "entries": [one.model_dump(mode="json") for one in kept.entries]}
    lines = [f"{asked} #{one.seq} {one.slot}: adjustment recorded; now read again" for one in kept.entries]
    return answer(result, kept.findings, text="\n".join(lines), json_wanted=json_wanted)


def _keep(office: Office, serial: str, check: str, done: Done) -> AdjustmentKept:
    from traveler.jobs.adjust import keep_adjustment

    return keep_adjustment(office, serial, check, done)


def _line(one: CheckAdvice) -> str:
    where = one.slots[0] if len(one.slots) == 1 else one.check
    why = f" ({one.advice.reason})" if one.advice is not None and one.advice.reason else ""
    reading = f"{one.reading} against " if one.reading else ""
    return f"{where}: {reading}{one.limits}: {one.text}{why}"
