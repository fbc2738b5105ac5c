"""The group ``records``: the records as a whole, verified, sealed, copied, taken out and taken over."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from traveler.cli.answer import Answer, watched
from traveler.cli.request import Request, Serial, SomeSerials, arg, command, opt
from traveler.cli.unit import all_named, named
from traveler.finding import CannotDo
from traveler.text import plural

if TYPE_CHECKING:
    from traveler.jobs.seal import Copied
    from traveler.record.audit import Audited
    from traveler.trace.export_bag import Exported


@command("records verify")
def verify(
    request: Request,
    serials: SomeSerials = None,
    seals: Annotated[
        list[Path] | None,
        opt("FILE", "Seal file kept elsewhere; may repeat. Without it: the shop's own.")
    ] = None,
    head: Annotated[
        str | None, opt("HEX", "The last link that a certificate shows.")
    ] = None,
    count: Annotated[
        int | None, opt("N", "The number of entries that it shows.")
    ] = None,
) -> Answer:  # fmt: skip
    """Verify that the records are unchanged.

    Nothing may be changed, removed, swapped or cut off. Without SERIAL: every unit of the shop, and every
    definition. With --head and --count: compare one unit with its certificate.

    Example: traveler records verify --seals /mnt/stick/seals.jsonl
    """
    from traveler.trace.verify import verify_records as job

    if head is not None or count is not None:
        if head is None or count is None or len(serials or ()) != 1 or seals:
            what = "a certificate needs one SERIAL, --head and --count, and no --seals"
            raise CannotDo(what, "copy all three from the certificate")
        return _certificate(request, (serials or [""])[0], head, count)
    with request.session() as session:
        asked = all_named(session, serials or ())
        done = job(session, asked, seals or None, lambda units, total: watched(units, total, "verifying"))
    sound = [unit for unit in done.units if not unit.findings]
    lines = [
        f"{unit.serial}  {plural(unit.count, 'entry', 'entries')}, last link {unit.head[:12]}"
        for unit in sound
    ]
    lines.append(f"{len(sound)} of {plural(len(done.units), 'record')} unchanged")
    lines += [f"checked against seal file {file}" for file in done.seals]
    return Answer(
        {"units": [_unit(unit) for unit in done.units], "seals": list(done.seals)}, lines, done.findings
    )


def _certificate(request: Request, serial: str, head: str, count: int) -> Answer:
    from traveler.trace.verify import check_certificate

    with request.session() as session:
        asked = named(session, serial)
        audited, findings = check_certificate(session, asked, head, count)
    lines = [] if findings else [f"{asked}: the certificate was printed from this record"]
    return Answer({"units": [_unit(audited)]}, lines, findings)


def _counted(record: Audited | Exported) -> str:
    return f"{plural(record.count, 'entry', 'entries')}, last link {record.head[:12]}"


def _unit(unit: Audited) -> dict[str, object]:
    return {"serial": unit.serial, "count": unit.count, "head": unit.head, "sound": not unit.findings}


@command("records seal")
def seal(
    request: Request,
    to: Annotated[Path | None, opt("FILE", "A further copy of the seal file, or the folder for one.")] = None,
) -> Answer:
    """Write where every record ends into the seal file.

    Its copies are brought up to date. Each release does so for its unit. What is sealed cannot be cut off or
    removed unseen.

    Example: traveler records seal --to /mnt/stick
    """
    from traveler.jobs.seal import seal as job

    with request.session() as session:
        done = job(session, to)
    counted = "1 record was" if done.units == 1 else f"{done.units} records were"
    lines = [f"{counted} sealed", *(f"  {file}" for file in done.files)] if done.files else []
    return Answer({"units": done.units, "files": [str(file) for file in done.files]}, lines, done.findings)


@command("records export")
def export(
    request: Request,
    serial: Serial,
    to: Annotated[Path | None, opt("FILE", "A new folder, or a .zip. Without it: SERIAL.zip here.")] = None,
) -> Answer:
    """Write the record of a unit as a bag (RFC 8493).

    Anybody can check it without this program: entries, definition, sheets, attachments, people and gauges
    named, seals, and a note that explains how.

    Example: traveler records export BW8-2639-0001N --to /mnt/stick/BW8-2639-0001N.zip
    """
    from traveler.trace.export_bag import export as job

    with request.session() as session:
        asked = named(session, serial)
        done = job(session, asked, to)
    result = {
        "serial": asked, "bag": str(done.path), "files": done.files, "count": done.count, "head": done.head,
    }  # fmt: skip
    line = f"{_counted(done)}, in {plural(done.files, 'file')}: {done.path}"
    return Answer(result, [line], done.findings)


@command("records import", by="needed", pin=True)
def import_bag(
    request: Request,
    bag: Annotated[Path, arg("BAG", "The folder or ZIP file of a bag.")],
) -> Answer:
    """Import the record of a unit from a bag.

    All of it or nothing, after it is verified. Existing entries are not changed: a bag given again adds
    nothing, one with more entries adds the rest. Quality or the director imports it.

    Example: traveler records import /mnt/stick/BW8-2639-0001N.zip --by qmoor
    """
    from traveler.jobs.import_bag import import_bag as job

    with request.session("take_over") as session:
        done = job(session, bag, request.person)
    lines = []
    if done.serial is not None:
        counted = (plural(done.entries, "entry", "entries"), plural(done.attachments, "attachment"))
        what = " and ".join(counted) if done.entries or done.attachments else "nothing new"
        lines = [f"{done.serial}: {what} imported"]
    result = {"serial": done.serial, "entries": done.entries, "attachments": done.attachments}
    return Answer(result, lines, done.findings)


@command("records backup")
def backup(
    request: Request,
    folder: Annotated[Path, arg("DIR", "A new folder, best on another disk.")],
) -> Answer:
    """Write a verified copy of all records.

    Work may go on meanwhile.

    Example: traveler records backup /mnt/stick/records-2026-11-02
    """
    from traveler.jobs.seal import back_up_records

    with request.session() as session:
        copied = back_up_records(session, folder)
    return _copied(copied, f"the backup in {folder}")


@command("records restore")
def restore(request: Request, folder: Annotated[Path, arg("DIR", "The folder of a backup.")]) -> Answer:
    """Fill a shop's empty records from a backup.

    They are verified before and after.

    Example: traveler records restore /mnt/stick/records-2026-11-02
    """
    from traveler.jobs.seal import restore_records

    with request.session() as session:
        copied = restore_records(session, folder)
    return _copied(copied, "the shop's records")


@command("records move")
def move(
    request: Request,
    to: Annotated[str, opt("URL", "Address of an empty database.")],
) -> Answer:
    """Copy all records into another database.

    They are verified there. Then name it as 'database' in shop.yaml.

    Example: traveler records move --to postgresql+psycopg://shop@server/records
    """
    from traveler.jobs.seal import move_records

    with request.session() as session:
        copied = move_records(session, to)
    return _copied(copied, "the new database; name it as 'database' in shop.yaml")


def _copied(copied: Copied, where: str) -> Answer:
    result = {"units": copied.units, "entries": copied.entries, "attachments": copied.attachments}
    line = (
        f"{plural(copied.units, 'unit')} with {plural(copied.entries, 'entry', 'entries')} copied to {where}"
    )
    return Answer(result, [line], copied.findings)
