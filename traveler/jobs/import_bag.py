"""Taking over the record of a unit from a bag that was exported, here or in another shop."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from traveler.definition.model import canonical_content, from_canonical
from traveler.definition.serial import serial_problem as verify_serial
from traveler.finding import Finding, Place, Weight
from traveler.jobs.seal import seal_units
from traveler.jobs.sign import allowed
from traveler.record.archive.bag import opened_bag
from traveler.record.attachments import EVERY, Attachment, examined
from traveler.record.audit import named_files
from traveler.record.chain import read_entry_lines
from traveler.record.entry import Issued
from traveler.record.plans import plan_as_issued
from traveler.record.records import DefinitionDiffers, IssuedDefinition
from traveler.record.store import Transaction
from traveler.record.stored import StoredRow, to_entry
from traveler.shop.session import Session
from traveler.verdict.state import state_after

_HINT = "ask for the bag again; nothing was taken over"


@dataclass(frozen=True, slots=True)
class Imported:
    """The unit of the bag (None where it could not be read), what was added, and every finding."""

    serial: str | None
    entries: int
    attachments: int
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Content:
    """What is in a bag, all of it checked against all else in it."""

    rows: tuple[StoredRow, ...]
    issued: Issued
    definition: str
    attachments: tuple[tuple[Attachment, bytes], ...]


def import_bag(session: Session, path: Path, by: str) -> Imported:
    """Takes over the unit in a bag: definition, entries, attachments; all of it or nothing.

    Where the unit is here already with the same beginning, only what is missing is added; a bag that was
    imported before adds nothing. What is in it passed no gate here, so somebody answers for taking it over.
    Findings: PER001, PER003, GAT002, PIN004, PIN005 they may not; BAG001 to BAG005
    (:mod:`traveler.record.archive.bag`), BAG006 a part of the record that is missing or cannot be read,
    BAG007
    entries that do not follow one another, BAG008 the definition, the unit or an attachment is not the one
    the entries name, BAG009 the unit is here with other entries, BAG010 the records here go on after the bag
    (a note); STO001 another definition is kept under the same revision; SER001, SER002 a serial that cannot
    be one; SEA010, SEA011 (warnings) what went wrong with sealing it here.

    Raises:
        CannotDo: there is no such bag.
    """
    refused = allowed(session, "take_over", by)
    if refused:
        return Imported(None, 0, 0, refused)
    with opened_bag(path) as opened:
        if not isinstance(opened, Path):
            return Imported(None, 0, 0, tuple(opened))
        content, findings = _read(opened / "data", path)
    if content is None:
        return Imported(None, 0, 0, tuple(findings))
    return _take(session, content, path)


def _take(session: Session, content: _Content, path: Path) -> Imported:
    serial = content.rows[0].unit
    with session.store.transaction() as work:
        findings = _conflicts(work, content, path)
        if any(finding.weight is Weight.BLOCKING for finding in findings):
            work.abandon()
            return Imported(serial, 0, 0, tuple(findings))
        if findings:
            return Imported(serial, 0, 0, tuple(findings))
        entries = tuple(map(to_entry, content.rows))
        state = str(state_after(entries, plan_as_issued(work, content.issued)))
        added = work.adopt(content.rows, state)
        new = [
            attachment for attachment, _ in content.attachments if work.attachment(attachment.digest) is None
        ]
        for attachment, kept in content.attachments:
            work.keep_file(attachment, kept, session.now)
    sealed = seal_units(session, [serial]).findings if added else ()
    return Imported(serial, added, len(new), sealed)


def _conflicts(work: Transaction, content: _Content, path: Path) -> list[Finding]:
    """What is kept here and does not go together with the bag; the definition is frozen on the way."""
    first, issued = to_entry(content.rows[0]), content.issued
    frozen = IssuedDefinition(issued.product, issued.revision, issued.digest, content.definition, first.at)
    kept = work.put_definition(frozen)
    if isinstance(kept, DefinitionDiffers):
        return [kept.finding()]
    unit = work.unit(first.unit)
    if unit is None:
        return []
    here = {row.seq: row.hash for row in work.rows(first.unit)}
    both = range(1, min(len(here), len(content.rows)) + 1)
    differs = next((seq for seq in both if here.get(seq) != content.rows[seq - 1].hash), None)
    if differs is not None or not here:
        what = f"{first.unit} is in the records with other entries, from #{differs or 1} on"
        hint = "compare both with the certificate: traveler records verify SERIAL --head … --count …"
        return [Finding("BAG009", what, Place(unit=first.unit, entry=differs), hint=hint)]
    if len(here) > len(content.rows):
        what = (
            f"the records of {first.unit} go on after the bag: {len(here)} entries, {len(content.rows)} in it"
        )
        return [Finding("BAG010", what, Place(str(path)), Weight.NOTE)]
    return []


def _read(data: Path, path: Path) -> tuple[_Content | None, list[Finding]]:
    """What is in the bag; None, and what is wrong, where anything is."""
    findings: list[Finding] = []
    parts = {name: _file(data, name, findings) for name in ("entries.jsonl", "unit.json", "definition.json")}
    if findings:
        return None, findings
    rows, findings = read_entry_lines(parts["entries.jsonl"], f"{path}/data/entries.jsonl")
    if not rows:
        return None, findings
    issued = to_entry(rows[0]).body
    if not isinstance(issued, Issued):
        return None, [_wrong("BAG006", "the record does not begin with the issue of a unit", path)]
    findings = [*_unit(rows, parts["unit.json"], path), *_definition(issued, parts["definition.json"], path)]
    if (serial := verify_serial(rows[0].unit)) is not None:
        findings.append(serial)
    attachments = _attachments(data, rows, path, findings)
    if findings:
        return None, findings
    return _Content(rows, issued, parts["definition.json"].decode(), attachments), []


def _file(data: Path, name: str, findings: list[Finding]) -> bytes:
    try:
        return (data / name).read_bytes()
    except OSError:
        findings.append(_wrong("BAG006", f"there is no data/{name} in it", data.parent))
        return b""


def _json(content: bytes) -> Any:
    """The JSON value; None where it is none."""
    try:
        return json.loads(content)
    except (ValueError, RecursionError):
        return None


def _unit(rows: tuple[StoredRow, ...], content: bytes, path: Path) -> list[Finding]:
    said = _json(content)
    due = {"serial": rows[0].unit, "count": len(rows), "head": rows[-1].hash}
    if not isinstance(said, dict) or any(said.get(key) != value for key, value in due.items()):
        end = rows[-1].hash[:12]
        what = f"unit.json does not say that {rows[0].unit} has {len(rows)} entries that end in {end}…"
        return [_wrong("BAG008", what, path)]
    return []


def _definition(issued: Issued, content: bytes, path: Path) -> list[Finding]:
    if hashlib.sha256(content).hexdigest() != issued.digest:
        return [
            _wrong("BAG008", f"definition.json is not the definition {issued.digest[:12]} of the issue", path)
        ]
    try:
        definition = from_canonical(content)
        known = (definition.product, definition.revision) == (issued.product, issued.revision)
        if known and issued.variant in definition.variants and canonical_content(definition) == content:
            return []
    except (ValueError, RecursionError):
        pass
    return [_wrong("BAG006", "definition.json is no definition of what was issued", path)]


def _attachments(
    data: Path, rows: tuple[StoredRow, ...], path: Path, findings: list[Finding]
) -> tuple[tuple[Attachment, bytes], ...]:
    """Every attachment that an entry names, with its bytes; all that are listed, and no other."""
    listed = _json(_file(data, "attachments.json", findings))
    found = []
    for item in listed if isinstance(listed, list) else [None]:
        file = item.get("file") if isinstance(item, dict) else None
        digest, name = (item.get("digest"), item.get("name")) if isinstance(item, dict) else (None, None)
        if not isinstance(file, str) or not isinstance(digest, str) or not isinstance(name, str):
            findings.append(_wrong("BAG006", "attachments.json is no list of attachments", path))
            continue
        inside = (data / file).resolve()
        if not inside.is_relative_to(data.resolve()) or not inside.is_file():
            findings.append(_wrong("BAG006", f"the attachment {file[:100]} is not in it", path))
            continue
        content = inside.read_bytes()
        known = examined(content, name, EVERY)
        if isinstance(known, Finding):
            findings.append(known)
        elif known.digest != digest or not any(digest in row.body for row in rows):
            findings.append(
                _wrong("BAG008", f"the attachment {file[:100]} is not one that an entry names", path)
            )
        else:
            found.append((known, content))
    missing = set(named_files(map(to_entry, rows))) - {serial.digest for serial, _ in found}
    if not findings:
        what = "an entry names the attachment {}, which is not in it"
        findings += [_wrong("BAG006", what.format(named_file[:12]), path) for named_file in sorted(missing)]
    return tuple(found)


def _wrong(code: str, what: str, path: Path) -> Finding:
    return Finding(code, what, Place(str(path)), hint=_HINT)
