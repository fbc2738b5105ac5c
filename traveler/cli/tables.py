"""``traveler export-readings``: the records as tables for people's own tools."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Annotated, TypeVar

import typer

from traveler.cli.learning import Since, start_of
from traveler.cli.options import Json, Shop
from traveler.cli.present import answer
from traveler.cli.progress import watched
from traveler.cli.shop_at import session_at

_Item = TypeVar("_Item")


def register(app: typer.Typer) -> None:
    """Add ``export-readings``."""
    app.command(name="export-readings")(export_readings)


def export_readings(
    to: Annotated[
        Path, typer.Option("--to", metavar="FILE", help="A .csv (one table) or a .sqlite (all of them).")
    ],
    product: Annotated[
        str | None, typer.Option("--product", metavar="PRODUCT", help="Only units of this product.")
    ] = None,
    since: Since = None,
    of: Annotated[
        str, typer.Option("--table", metavar="TABLE", help="Which table a CSV holds; units, fitted, …")
    ] = "readings",
    findings: Annotated[
        bool, typer.Option("--findings", help="Judge every unit, so that the table of findings is filled.")
    ] = False,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Write readings, units, fitted lots and findings as tables for a spreadsheet or a database tool.

    Numbers are exact decimal text with their unit beside them, times ISO 8601 in UTC. A CSV holds one table:
    readings, units, worked, adjustments, fitted or findings; a SQLite file all of them, with views.

    Example: traveler export-readings --product bobbin-winder --since 1y --to readings.csv
    """
    from traveler.trace.export import ExportRequest
    from traveler.trace.export import export_readings as job

    with session_at(shop) as session:
        wanted = ExportRequest(to, product, start_of(session, since), of, findings)
        done = job(session, wanted, _shown)
    told = ", ".join(f"{count} {name}" for name, count in done.rows.items())
    return answer(
        done.as_dict(), text=f"wrote {done.file}: {told} of {done.units} units", json_wanted=json_wanted
    )


def _shown(items: Iterable[_Item], total: int) -> Iterator[_Item]:
    return watched(items, total, "exporting")
