"""``traveler validate``: what stands against a unit."""

from __future__ import annotations

from contextlib import closing
from typing import Annotated

import typer

from traveler.cli.options import Json, Shop
from traveler.cli.present import CannotDo, answer_long
from traveler.cli.progress import watched
from traveler.cli.shop_at import session_at
from traveler.finding import Finding

Some = Annotated[
    list[str] | None, typer.Argument(metavar="SERIAL", help="Serial numbers with check characters.")
]


def register(app: typer.Typer) -> None:
    """Add ``validate``."""
    app.command(name="validate")(validate)


def validate(
    serials: Some = None,
    every: Annotated[bool, typer.Option("--all", help="Every unit of the shop.")] = False,
    slots: Annotated[bool, typer.Option("--slots", help="Show every slot with its state.")] = False,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Judge units by the definition they were issued with, and list everything that stands against them.

    Exit code 1 if anything stands in the way; what is only still to be done does not.

    Example: traveler validate BW8-2639-0001N --slots
    """
    from traveler.cli.verdict_text import Show
    from traveler.record.plans import checked_serials
    from traveler.trace.judging import every_serial, judge_all

    asked = checked_serials(serials or ())
    if every == bool(asked):
        what = "say which units: SERIAL…, or --all"
        raise CannotDo(what)
    with session_at(shop) as session:
        wanted = asked or every_serial(session)
        judged = judge_all(session, wanted, Show(json_wanted, slots))
        with closing(judged):
            shown = watched(judged, len(wanted), "judging")
            pieces = (
                ("", [item]) if isinstance(item, Finding) else (item.text, item.findings) for item in shown
            )
            return answer_long(pieces, "units", json_wanted=json_wanted)
