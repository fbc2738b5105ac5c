"""``traveler set-up``: the folder of a new shop."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from traveler.cli.options import Json
from traveler.cli.present import CannotDo, answer


def register(app: typer.Typer) -> None:
    """Add ``set-up``."""
    app.command(name="set-up")(set_up)


def set_up(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder; made if it is not there.")],
    name: Annotated[str, typer.Option("--name", metavar="NAME", help="The shop's name, as on its sheets.")],
    page_size: Annotated[
        Literal["A4", "Letter"], typer.Option("--page-size", help="Paper of the sheets.")
    ] = "A4",
    time_zone: Annotated[
        str, typer.Option("--time-zone", metavar="ZONE", help="IANA name, such as Europe/Madrid.")
    ] = "UTC",
    json_wanted: Json = False,
) -> int:
    """Set up the folder of a new shop: settings, people, gauges, a place for product definitions.

    The files say in comments what belongs into them. Nothing that is there already is changed.

    Example: traveler set-up shop --name "Marrowby Machine Works" --time-zone Europe/Madrid
    """
    from zoneinfo import available_timezones

    from traveler.jobs import set_up as job
    from traveler.shop.settings import Settings

    if not name.strip():
        what = "the shop has no name"
        raise CannotDo(what, 'give it one with --name "…"')
    if time_zone not in available_timezones():
        what = f"there is no time zone '{time_zone}'"
        raise CannotDo(what, "give an IANA name, such as Europe/Madrid or UTC")
    made = job.set_up(folder, Settings(name=name.strip(), page_size=page_size, time_zone=time_zone))
    lines = [f"set up a shop in {made.folder}", *(f"  {file}" for file in made.files)]
    lines.append("next: put people and gauges into these files, and definitions into product_defs/")
    result = {"folder": str(made.folder), "files": [str(file) for file in made.files]}
    return answer(result, text="\n".join(lines), json_wanted=json_wanted)
