"""``traveler enter``: one result, keyed from paper."""

from __future__ import annotations

from typing import Annotated

import typer

from traveler.cli.clock import moment
from traveler.cli.options import At, By, Json, Serial, Shop
from traveler.cli.present import answer
from traveler.cli.shop_at import session_at


def register(app: typer.Typer) -> None:
    """Add ``enter``."""
    numbers = {"ignore_unknown_options": True}  # a value may be below zero
    app.command(name="enter", context_settings=numbers)(enter)


def enter(
    serial: Serial,
    slot: Annotated[str, typer.Argument(metavar="SLOT", help="The slot, as beside its box: 30-2/spindle=1.")],
    value: Annotated[
        str, typer.Argument(metavar="VALUE", help="As written: '0.041 mm', yes, no, a lot, '12/1/0'.")
    ],
    by: By,
    gauge: Annotated[
        str | None, typer.Option("--gauge", metavar="ID", help="The gauge it was read with.")
    ] = None,
    unit: Annotated[
        str | None, typer.Option("--unit", metavar="UNIT", help="Of a value that is written without.")
    ] = None,
    as_found: Annotated[bool, typer.Option("--as-found", help="Read before an adjustment.")] = False,
    note: Annotated[
        str | None, typer.Option("--note", metavar="TEXT", help="What is written beside it.")
    ] = None,
    at: At = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Record one result by hand, as from a paper sheet, and judge the unit at once.

    The same rules hold as for a file of results. What was done long ago is marked late.

    Example: traveler enter BW8-2639-0001N 30-2/spindle=1,end=near "0.041 mm" --gauge IND-03 --by tkiln
    """
    from traveler.cli.verdict_text import unit_line
    from traveler.jobs.record import Result
    from traveler.jobs.record import enter as job
    from traveler.record.plans import checked_serial
    from traveler.verdict.advice import advice_lines

    asked = checked_serial(serial)
    result = Result(slot, value, unit, gauge, as_found, note)
    with session_at(shop) as session:
        when = moment(at, session.shop.settings.time_zone, session.now) if at is not None else None
        done = job(session, asked, result, by, when)
        advice = advice_lines(done.judged) if done.entries else []
    lines = [f"{asked} #{entry.seq}: {entry.body.kind}" for entry in done.entries]
    lines += [unit_line(done.judged), *advice] if done.entries else []
    findings = (*done.findings, *(done.judged.verdict.findings if done.entries else ()))
    said = {
        "serial": asked,
        "entries": [entry.model_dump(mode="json") for entry in done.entries],
        "unit": done.judged.verdict.as_dict(),
        "advice": advice,
    }
    return answer(said, dict.fromkeys(findings), text="\n".join(lines), json_wanted=json_wanted)
