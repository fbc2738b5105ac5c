"""``traveler attach`` and ``attachments``: photographs and documents of a unit, in and out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.clock import moment, shown
from traveler.cli.options import At, By, Json, PinFile, Serial, Shop
from traveler.cli.present import CannotDo, answer, table
from traveler.cli.shop_at import session_at
from traveler.cli.signing import signed_in

if TYPE_CHECKING:
    from traveler.jobs.attach import Attaching, ListedFile

MOST = 1_000_000_000
"""Bytes beyond which a file is not even read; what is kept is a setting."""


def register(app: typer.Typer) -> None:
    """Add ``attach`` and ``attachments``."""
    app.command(name="attach")(attach)
    app.command(name="attachments")(attachments)


def attach(
    serial: Serial,
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE", help="Photographs (JPEG, PNG), PDF, plain text, CSV.")
    ],
    by: By,
    slot: Annotated[
        str | None, typer.Option("--slot", metavar="SLOT", help="The slot they belong to, as a photo slot.")
    ] = None,
    what: Annotated[str, typer.Option("--what", metavar="TEXT", help="What they show.")] = "",
    at: At = None,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Keep photographs and documents with a unit's record; on a photo slot they fill it.

    All files of a command are kept, or none. What a file is, is told from its bytes; they stay as they are.

    Example: traveler attach BW8-2639-0001N crate.jpg --slot C-2 --by pstrap
    """
    from traveler.jobs.attach import GivenFile
    from traveler.jobs.attach import attach as job
    from traveler.record.plans import checked_serial

    asked = checked_serial(serial)
    given = [GivenFile(path.name, _content(path)) for path in files]
    with session_at(shop) as session:
        when = moment(at, session.shop.settings.time_zone, session.now)
        signed = signed_in(session, by, "note", pin_file)
        done = job(signed, asked, given, by, slot=slot, what=what, at=when)
    result = {"serial": asked, "files": [file.as_dict() for file in done.files]}
    return answer(result, done.findings, text=_told(asked, done), json_wanted=json_wanted)


def attachments(
    serial: Serial,
    to: Annotated[
        Path | None, typer.Option("--to", metavar="DIR", help="Write the files into this folder.")
    ] = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """List the photographs and documents of a unit, checked against what was kept; or take them out again.

    Example: traveler attachments BW8-2639-0001N --to photographs
    """
    from traveler.jobs.attach import attachments_of, take_out
    from traveler.record.plans import checked_serial

    asked = checked_serial(serial)
    with session_at(shop) as session:
        found = take_out(session, asked, to) if to is not None else attachments_of(session, asked)
        zone = session.shop.settings.time_zone
    lines = [_table(found, zone)] if found else [f"{asked} has no photographs nor documents"]
    lines += [f"  {attachment.file}" for attachment in found if attachment.file is not None]
    findings = [attachment.wrong for attachment in found if attachment.wrong is not None]
    result = {"serial": asked, "attachments": [attachment.as_dict() for attachment in found]}
    return answer(result, findings, text="\n".join(lines), json_wanted=json_wanted)


def _content(path: Path) -> bytes:
    if not path.is_file():
        what = f"there is no file {path}"
        raise CannotDo(what, "nothing was kept")
    if path.stat().st_size > MOST:
        what = f"{path} has {path.stat().st_size:,} bytes"
        raise CannotDo(what, "nothing was kept")
    return path.read_bytes()


def _told(serial: str, done: Attaching) -> str:
    lines = []
    for file in done.files:
        fate = "kept" if file.new else "is there already"
        lines.append(f"{serial} #{file.entry.seq}: {file.attachment.name} {fate}")
    return "\n".join(lines)


def _table(found: tuple[ListedFile, ...], zone: str) -> str:
    rows = [
        (
            str(serial.entry.seq), shown(serial.entry.at, zone), serial.entry.by, serial.entry.slot or "",
            serial.attachment.name, _kind(serial), f"{serial.attachment.size:,}", _remark(serial),
        )
        for serial in found
    ]  # fmt: skip
    return table(("#", "when", "who", "slot", "name", "what it is", "bytes", "remark"), rows)


def _kind(listed_file: ListedFile) -> str:
    from traveler.record.attachments import CALLED

    called = CALLED.get(listed_file.attachment.media_type, listed_file.attachment.media_type)
    return f"{called} {listed_file.facts.width} × {listed_file.facts.height}" if listed_file.facts else called


def _remark(listed_file: ListedFile) -> str:
    said = [
        listed_file.said if listed_file.said != listed_file.attachment.name else "",
        "STRUCK OUT" if listed_file.struck else "",
    ]
    if listed_file.wrong is not None:
        said.append("missing" if listed_file.wrong.code == "ATT004" else "changed since it was kept")
    return "; ".join(part for part in said if part)
