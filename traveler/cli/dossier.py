"""``traveler dossier``: everything about one unit, for a customer on the phone."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.options import Json, Serial, Shop
from traveler.cli.present import answer
from traveler.cli.shop_at import session_at

if TYPE_CHECKING:
    from traveler.trace.dossier.result import Dossier


def register(app: typer.Typer) -> None:
    """Add ``dossier``."""
    app.command(name="dossier")(dossier)


def dossier(
    serial: Serial,
    to: Annotated[
        Path | None, typer.Option("--to", metavar="DIR", help="Where to; else beside the unit's sheets.")
    ] = None,
    formats: Annotated[
        str, typer.Option("--format", metavar="LIST", help="Which of pdf, html and json, joined by commas.")
    ] = "pdf,html,json",
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Write everything about a unit: PDF, an HTML page that stands for itself, and JSON.

    On page one: what the complaint says, what is unusual about this unit, which others. Then every reading as
    a picture, parts and lots, gauges, people, photographs, shipping and the whole life; the filled record
    lies beside it.

    Example: traveler dossier BW8-2639-0001N --to /tmp/dossier
    """
    from traveler.record.plans import checked_serial
    from traveler.trace.dossier.files import chosen_formats, write_dossier

    asked, chosen = checked_serial(serial), chosen_formats(formats)
    with session_at(shop) as session:
        done = write_dossier(session, asked, to=to, formats=chosen)
    text = "\n".join((summary(done.found), *(f"  {file}" for file in done.files)))
    return answer(done.as_dict(), done.findings, text=text, json_wanted=json_wanted)


def summary(found: Dossier) -> str:
    """Page one as text."""
    lines = [f"{found.unit.serial}  {found.title} {found.variant}: {found.where}"]
    for serial in found.cases:
        lines.append(f"case {serial.case.name}, {serial.case.state}: {serial.case.complaint.text}")
        lines += [f"  {value.sentence}" for value in serial.values]
    for remark in found.remarks:
        lines.append(f"{'>>' if remark.strong else ' -'} {remark.head}. {remark.text}")
    alike = [serial.serial for serial in found.others if serial.complained]
    if alike:
        lines.append(f"complained about alike: {', '.join(alike)}")
    if found.contain:
        lines.append(f"next: {found.contain}")
    return "\n".join(lines)
