"""The whole record of a unit in one bag (RFC 8493) that anybody can check without this program."""

from __future__ import annotations

import json
import shutil
import tempfile
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from traveler.files import new_folder, replacing
from traveler.finding import CannotDo, Finding
from traveler.record.archive.bag import bag_note, quiet
from traveler.record.attachments import Attachment
from traveler.record.audit import audit_names, audit_unit, named_files
from traveler.record.chain import entry_lines
from traveler.record.entry import Entry, Read
from traveler.record.seal import read_seals
from traveler.record.stored import canonical_json
from traveler.sheets.batch.catalog import SHEETS
from traveler.shop.folder import seal_files
from traveler.shop.people import Person
from traveler.shop.session import Session
from traveler.trace.judging import judge
from traveler.verdict.judge import Judged

EXTENSIONS = {
    "image/jpeg": ".jpg", "image/png": ".png", "image/svg+xml": ".svg", "application/pdf": ".pdf",
    "text/plain": ".txt", "text/csv": ".csv",
}  # fmt: skip
"""Media type of an attachment → how its file's name ends in a bag."""

MANIFESTS = ("sha256", "sha512")


@dataclass(frozen=True, slots=True)
class Exported:
    """The bag that was written, how many files are in it, and findings about its sheets."""

    path: Path
    files: int
    count: int
    head: str
    findings: tuple[Finding, ...]


def export(session: Session, serial: str, to: Path | None = None) -> Exported:
    """Writes the bag of a unit; ``to`` is a new folder, or a file whose name ends in ``.zip``.

    It appears under its name only when it is whole. In it: the entries as they are hashed, the unit, its
    definition, the persons and gauges it names, attachments, sheets (those printed, and the others made now),
    its seals, its verdict, and a note how to check all that by hand. Findings: those of sheets that could
    not be made, which are then left out.

    Raises:
        CannotDo: no unit of this serial was issued here, its record is not sound, or there is something of
            that name already.
        StoreDamaged: an attachment is gone or was changed.
        OSError: the disk is full; nothing of the bag is left.
    """
    target = to or Path(f"{serial}.zip")
    if target.exists():
        what = f"{target} exists already"
        raise CannotDo(what, "name a new folder, or a file that ends in .zip")
    if target.suffix != ".zip":
        with new_folder(target) as folder:
            findings, unit, files = _fill(session, serial, folder)
    else:
        with (
            replacing(target) as part,
            tempfile.TemporaryDirectory(dir=target.parent, prefix=".bag-") as work,
        ):
            folder = Path(work) / serial
            folder.mkdir()
            findings, unit, files = _fill(session, serial, folder)
            _zip(session, folder, part)
    return Exported(target, files, unit["count"], unit["head"], findings)


def _fill(session: Session, serial: str, folder: Path) -> tuple[tuple[Finding, ...], dict[str, Any], int]:
    """Fills a folder and makes a bag of it; gives findings about sheets, the unit, and how many files."""
    with session.store.reading() as records:
        judged = judge(session, records, serial)
        named = (records.attachment(file) for file in sorted(named_files(judged.entries)))
        attached = tuple(attachment for attachment in named if attachment is not None)
        wrong = [
            *audit_unit(records, judged.unit).findings,
            *audit_names(judged.entries, (attachment.digest for attachment in attached)),
        ]
        if wrong:
            what = f"the record of {serial} is not what was written: {wrong[0]}"
            raise CannotDo(what, "see 'traveler records verify'")
        rows = records.rows(serial)
        content = next(
            issued_definition.content
            for issued_definition in map(records.definition_of, [judged.unit.digest])
            if issued_definition
        )
    unit = _unit(judged)
    (folder / "entries.jsonl").write_bytes(entry_lines(rows))
    (folder / "unit.json").write_text(canonical_json(unit), encoding="utf-8")
    (folder / "definition.json").write_text(content, encoding="utf-8")
    _write_json(folder / "verdict.json", judged.verdict.as_dict())
    _write_json(folder / "people.json", [_person(person) for person in _people(session, judged)])
    _write_json(folder / "gauges.json", _gauges(session, judged.entries))
    (folder / "seals.jsonl").write_bytes(_seals(session, serial))
    _attachments(session, folder, attached)
    findings = _sheets(session, judged, folder / "sheets")
    facts = {
        "serial": serial, "title": judged.plan.title, "product": judged.unit.product,
        "variant": judged.unit.variant, "revision": judged.unit.revision, "shop": session.shop.settings.name,
        "day": session.today, "count": judged.unit.entries,
    }  # fmt: skip
    (folder / "README.txt").write_text(bag_note(**facts), encoding="utf-8")
    _make_bag(session, folder, serial)
    return findings, unit, sum(path.is_file() for path in folder.rglob("*"))


def _unit(judged: Judged) -> dict[str, Any]:
    unit = judged.unit
    said = {
        "serial": unit.serial, "product": unit.product, "revision": unit.revision, "variant": unit.variant,
        "digest": unit.digest, "order": unit.order, "quantity": unit.quantity, "state": unit.state,
        "count": unit.entries, "head": unit.head,
    }  # fmt: skip
    return {key: value for key, value in said.items() if value is not None}


def _people(session: Session, judged: Judged) -> list[Person]:
    """Those who wrote in the record, once each, in the order of the register."""
    named = {entry.by.casefold() for entry in judged.entries}
    return [person for person in session.shop.people.people if person.id.casefold() in named]


def _person(person: Person) -> dict[str, Any]:
    """What may leave the shop: never anything about a PIN."""
    return person.model_dump(mode="json", include={"id", "name", "roles", "left"}, exclude_none=True)


def _gauges(session: Session, entries: tuple[Entry, ...]) -> list[dict[str, Any]]:
    named = {
        entry.body.gauge.upper() for entry in entries if isinstance(entry.body, Read) and entry.body.gauge
    }
    found = (gauge for gauge in session.shop.gauges.gauges if gauge.id.upper() in named)
    return [gauge.model_dump(mode="json", exclude_defaults=True) for gauge in found]


def _seals(session: Session, serial: str) -> bytes:
    file = next((seal_file for seal_file in seal_files(session.shop) if seal_file.is_file()), None)
    if file is None:
        return b""
    lines = read_seals(file.read_bytes(), str(file)).units.get(serial, ())
    return "".join(f"{line.text}\n" for line in lines).encode()


def _attachments(session: Session, folder: Path, attached: tuple[Attachment, ...]) -> None:
    listed = []
    for attachment in attached:
        file = f"attachments/{attachment.digest}{EXTENSIONS.get(attachment.media_type, '')}"
        listed.append(
            {
                "digest": attachment.digest,
                "file": file,
                "media_type": attachment.media_type,
                "name": attachment.name,
            }
        )
        (folder / file).parent.mkdir(exist_ok=True)
        (folder / file).write_bytes(session.store.attachments.get(attachment.digest))
    _write_json(folder / "attachments.json", listed)


def _sheets(session: Session, judged: Judged, folder: Path) -> tuple[Finding, ...]:
    """The sheets as they were printed, and those of the others that there are now."""
    folder.mkdir()
    printed = session.shop.output / judged.unit.serial
    for file in sorted(printed.glob("[!.]*.pdf")) if printed.is_dir() else ():
        shutil.copyfile(file, folder / file.name)
    findings: list[Finding] = []
    for name, kind in SHEETS.items():
        file = folder / f"{name}.pdf"
        if file.exists() or not kind.wanted(judged):
            continue
        sheet = kind.render(session, judged, 1)
        findings += sheet.findings
        if sheet.printed:
            file.write_bytes(sheet.pdf)
    return tuple(findings)


def _write_json(file: Path, value: object) -> None:
    file.write_text(json.dumps(value, ensure_ascii=False, indent=1, default=str) + "\n", encoding="utf-8")


def _make_bag(session: Session, folder: Path, serial: str) -> None:
    import bagit

    info = {
        "Source-Organization": session.shop.settings.name,
        "External-Identifier": serial,
        "External-Description": f"Record of the unit {serial}",
        "Bagging-Date": session.today.isoformat(),
        "Bag-Software-Agent": "traveler",
    }
    with quiet():
        bagit.make_bag(folder, info, checksums=list(MANIFESTS))


def _zip(session: Session, folder: Path, file: Path) -> None:
    """Writes the folder as a ZIP file; the same content and moment give the same bytes."""
    moment = session.now.astimezone(session.shop.zone).timetuple()[:6]
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(folder.rglob("*")):
            if path.is_file():
                entry = zipfile.ZipInfo(f"{folder.name}/{path.relative_to(folder).as_posix()}", moment)
                entry.external_attr, entry.compress_type = 0o100644 << 16, zipfile.ZIP_DEFLATED
                archive.writestr(entry, path.read_bytes())
