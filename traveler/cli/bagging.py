"""``traveler export`` and ``import-bag``: the whole record of a unit, out of the shop and back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from traveler.cli.options import By, Json, PinFile, Serial, Shop
from traveler.cli.present import answer
from traveler.cli.shop_at import session_at
from traveler.cli.signing import signed_in


def register(app: typer.Typer) -> None:
    """Add ``export`` and ``import-bag``."""
    app.command(name="export")(export)
    app.command(name="import-bag")(import_bag)


def export(
    serial: Serial,
    to: Annotated[
        Path | None,
        typer.Option(
            "--to", metavar="DIR|FILE.zip", help="A new folder or ZIP file. Without it: SERIAL.zip here."
        ),
    ] = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Write the whole record of a unit as a bag (RFC 8493) that anybody can check without this program.

    Entries, definition, sheets, attachments, the people and gauges named, the seals, and a note that says how
    to check them by hand.

    Example: traveler export BW8-2639-0001N --to /mnt/stick/BW8-2639-0001N.zip
    """
    from traveler.record.plans import checked_serial
    from traveler.trace.export_bag import export as job

    checked = checked_serial(serial)
    with session_at(shop) as session:
        done = job(session, checked, to)
    said = f"{done.count} entries that end in {done.head[:12]}, in {done.files} files: {done.path}"
    result = {
        "serial": checked, "bag": str(done.path), "files": done.files, "count": done.count, "head": done.head,
    }  # fmt: skip
    return answer(result, done.findings, text=said, json_wanted=json_wanted)


def import_bag(
    bag: Annotated[Path, typer.Argument(metavar="BAG", help="The folder or ZIP file of a bag.")],
    by: By,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Take over the record of a unit from a bag, all of it or nothing; what is here already is not touched.

    The bag, the chain of its entries, the definition and the attachments are verified first. A bag that was
    imported before adds nothing; one that goes on where the records here end adds the rest. What is in it
    passed no gate here: quality or the director answers for taking it over.

    Example: traveler import-bag /mnt/stick/BW8-2639-0001N.zip --by qmoor
    """
    from traveler.jobs.import_bag import import_bag as job

    with session_at(shop) as session:
        done = job(signed_in(session, by, "take_over", pin_file), bag, by)
    said = ""
    if done.serial is not None:
        what = f"{done.entries} entries and {done.attachments} attachments were taken over"
        said = f"{done.serial}: {what if done.entries or done.attachments else 'nothing was taken over'}"
    result = {"serial": done.serial, "entries": done.entries, "attachments": done.attachments}
    return answer(result, done.findings, text=said, json_wanted=json_wanted)
