"""``traveler validate``: what stands against a unit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.options import Json, Shop
from traveler.cli.present import CannotDo, answer
from traveler.cli.progress import watched
from traveler.cli.shop_at import office_at

if TYPE_CHECKING:
    from traveler.jobs.judge import Judged

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
    from traveler.cli.verdict_text import slots_table, unit_line
    from traveler.jobs.judge import judge
    from traveler.jobs.units import checked_serials

    asked = checked_serials(serials or ())
    if every == bool(asked):
        what = "say which units: SERIAL…, or --all"
        raise CannotDo(what)
    with office_at(shop) as office, office.store.reading() as records:
        wanted = asked or tuple(one.serial for one in records.units())
        judgements = (judge(office, records, serial) for serial in wanted)
        judged: list[Judged] = list(watched(judgements, len(wanted), "judging"))
    lines: list[str] = []
    for one in judged:
        lines.append(unit_line(one))
        lines += [slots_table(one)] if slots else []
    findings = [finding for one in judged for finding in one.verdict.findings]
    result = {"units": [one.verdict.as_dict() for one in judged]}
    return answer(result, findings, text="\n".join(lines), json_wanted=json_wanted)
