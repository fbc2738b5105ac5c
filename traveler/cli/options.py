"""Options that many commands share, each defined once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Shop = Annotated[
    Path | None,
    typer.Option(
        "--shop",
        metavar="DIR",
        envvar="TRAVELER_SHOP",
        show_envvar=True,
        help="The shop's folder. Without it: the nearest folder from here upwards that has a shop.yaml.",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Answer with one JSON document on stdout.")]
By = Annotated[str, typer.Option("--by", metavar="ID", help="Who does it: an id from people.yaml.")]
At = Annotated[
    str | None,
    typer.Option(
        "--at",
        metavar="TIME",
        help="When it was done, as 2026-11-02T14:30 (the shop's time zone). Without it: now.",
    ),
]
Language = Annotated[
    str | None,
    typer.Option(
        "--language",
        metavar="L",
        help="Language of the sheets: en, es, or two on one sheet as es+en. Without it: as shop.yaml says.",
    ),
]
PinFile = Annotated[
    Path | None,
    typer.Option(
        "--pin-file",
        metavar="FILE",
        help="File with the PIN of whoever signs (- is standard input). Without it: the terminal asks.",
    ),
]
Serial = Annotated[
    str, typer.Argument(metavar="SERIAL", help="Serial number with its check character, from the sheet.")
]
Serials = Annotated[
    list[str], typer.Argument(metavar="SERIAL", help="Serial numbers with their check characters.")
]
