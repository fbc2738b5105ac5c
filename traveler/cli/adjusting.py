"""``traveler adjust``: how to bring a check in, and what was done about it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.clock import moment
from traveler.cli.options import At, Json, Serial, Shop
from traveler.cli.present import CannotDo, answer
from traveler.cli.shop_at import session_at

if TYPE_CHECKING:
    from traveler.jobs.adjust import AdjustmentKept, Done
    from traveler.shop.session import Session
    from traveler.verdict.advice import CheckAdvice


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
    from traveler.record.plans import checked_serial
    from traveler.trace.judging import judge

    asked = checked_serial(serial)
    if done is None:
        if amount is not None or followed is not None or at is not None:
            what = "--amount, --followed and --at go with --done"
            raise CannotDo(what, "say what was done")
        with session_at(shop) as session, session.store.reading() as records:
            found = advice_for(judge(session, records, asked), check)
        result = {"serial": asked, "advice": [check_advice.as_dict() for check_advice in found]}
        return answer(
            result, text="\n".join(_line(check_advice) for check_advice in found), json_wanted=json_wanted
        )
    if by is None:
        what = "who adjusted?"
        raise CannotDo(what, "give --by ID")
    with session_at(shop) as session:
        when = moment(at, session.shop.settings.time_zone, session.now)
        kept = _keep(session, asked, check, Done(done, by, amount, followed, when))
    result = {"serial": asked, "entries": [entry.model_dump(mode="json") for entry in kept.entries]}
    lines = [
        f"{asked} #{entry.seq} {entry.slot}: adjustment recorded; now read again" for entry in kept.entries
    ]
    return answer(result, kept.findings, text="\n".join(lines), json_wanted=json_wanted)


def _keep(session: Session, serial: str, check: str, done: Done) -> AdjustmentKept:
    from traveler.jobs.adjust import keep_adjustment

    return keep_adjustment(session, serial, check, done)


def _line(check_advice: CheckAdvice) -> str:
    where = check_advice.slots[0] if len(check_advice.slots) == 1 else check_advice.check
    why = (
        f" ({check_advice.advice.reason})"
        if check_advice.advice is not None and check_advice.advice.reason
        else ""
    )
    reading = f"{check_advice.reading} against " if check_advice.reading else ""
    return f"{where}: {reading}{check_advice.limits}: {check_advice.text}{why}"
