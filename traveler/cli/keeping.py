"""``traveler backup``, ``restore`` and ``move-store``: copies of the records, each verified."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.options import Json, Shop
from traveler.cli.present import answer
from traveler.cli.shop_at import session_at

if TYPE_CHECKING:
    from traveler.jobs.seal import Copied


def register(app: typer.Typer) -> None:
    """Add ``backup``, ``restore`` and ``move-store``."""
    app.command(name="backup")(backup)
    app.command(name="restore")(restore)
    app.command(name="move-store")(move_store)


def backup(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="A new folder, best on another disk.")],
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Write a copy of all records into a new folder and verify it; work may go on meanwhile.

    Example: traveler backup /mnt/stick/records-2026-11-02
    """
    from traveler.jobs.seal import back_up_records

    with session_at(shop) as session:
        copied = back_up_records(session, folder)
    return _answer(copied, f"the backup in {folder}", json_wanted=json_wanted)


def restore(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder of a backup.")],
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Fill a shop's empty records from a backup, verified before and after.

    Example: traveler restore /mnt/stick/records-2026-11-02
    """
    from traveler.jobs.seal import restore_records

    with session_at(shop) as session:
        copied = restore_records(session, folder)
    return _answer(copied, "the shop's records", json_wanted=json_wanted)


def move_store(
    to: Annotated[str, typer.Option("--to", metavar="URL", help="Address of an empty database.")],
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Copy all records into another database and verify them there; then name it in shop.yaml.

    Example: traveler move-store --to postgresql+psycopg://shop@server/records
    """
    from traveler.jobs.seal import move_records

    with session_at(shop) as session:
        copied = move_records(session, to)
    return _answer(copied, "the new database; name it as 'database' in shop.yaml", json_wanted=json_wanted)


def _answer(copied: Copied, where: str, *, json_wanted: bool) -> int:
    result = {"units": copied.units, "entries": copied.entries, "attachments": copied.attachments}
    said = f"{copied.units} units with {copied.entries} entries are in {where}"
    return answer(result, copied.findings, text=said, json_wanted=json_wanted)
