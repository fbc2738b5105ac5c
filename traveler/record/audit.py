"""Whether a store still holds what was written: chains, references, definitions, guards, files."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from sqlalchemy import text

from traveler.finding import Finding, Place, Weight
from traveler.record.attachments import Attachment
from traveler.record.chain import verify_rows
from traveler.record.entry import Body, Complained, Entry, Issued, Noted, Photographed, entry_references
from traveler.record.errors import StoreDamaged
from traveler.record.records import Records, Unit
from traveler.record.store import Store
from traveler.record.stored import StoredRow, to_entry
from traveler.record.tables import APPEND_ONLY
from traveler.text import plural

_FILE_HINT = "take it from a backup; attaching the same file again puts it back"


def named_files(entries: Iterable[Entry]) -> Mapping[str, Entry]:
    """SHA-256 of each file that an entry names → the first entry that names it.

    A photograph, a document, what came with a complaint, the pictures of the definition.
    """
    found: dict[str, Entry] = {}
    for entry in entries:
        for digest in _digests(entry.body):
            found.setdefault(digest, entry)
    return found


def _digests(body: Body) -> Iterator[str]:
    match body:
        case Photographed(file=str(file)) | Noted(file=str(file)):
            yield file
        case Complained(photos=photos):
            yield from photos
        case Issued(pictures=pictures):
            yield from (picture.file for picture in pictures)
        case _:
            pass


def audit_files(
    store: Store, attachments: Iterable[Attachment]
) -> Iterator[tuple[Attachment, Finding | None]]:
    """Each of these files with what is wrong with it: ATT004 missing, ATT005 changed; read in pieces."""
    for attachment in attachments:
        state = store.attachments.state(attachment.digest)
        if state == "whole":
            yield attachment, None
            continue
        path = store.attachments.path(attachment.digest)
        code, fate = ("ATT004", "is missing") if state == "missing" else ("ATT005", "was changed")
        what = f"the attachment {attachment.name} ({attachment.digest[:12]}) {fate}: {path}"
        yield attachment, Finding(code, what, Place(), hint=_FILE_HINT)


def audit_names(entries: Iterable[Entry], known: Iterable[str]) -> Iterator[Finding]:
    """ATT006 for each file that an entry names and the records do not know."""
    noted = set(known)
    for digest, entry in named_files(entries).items():
        if digest not in noted:
            place = Place(unit=entry.unit, slot=entry.slot, entry=entry.seq)
            what = f"it names the attachment {digest[:12]}, which is not in the records"
            yield Finding("ATT006", what, place, hint="restore a backup")


def audit_strays(store: Store, known: Iterable[str]) -> Iterator[Finding]:
    """ATT007 (note) where the folder has files that no record knows.

    They are left by a job that was interrupted between keeping a file and noting it; nothing needs them.
    """
    if not store.keeps_attachments:
        return
    folder, noted = store.attachments, set(known)
    strays = [digest for digest in folder.digests() if digest not in noted]
    if strays:
        count = plural(len(strays), "file")
        what = f"{count} in {folder.folder} without a record, the first is {strays[0]}"
        yield Finding("ATT007", what, Place(), Weight.NOTE, hint="nothing needs them")


_AT_ONCE = 200
"""Units looked at in one view of the records, so that a long audit holds nobody up."""

_HINT = "restore a backup beside this store and compare the two"


@dataclass(frozen=True, slots=True)
class Audited:
    """One unit: how many entries it has, the hash its chain ends in, and what is wrong."""

    serial: str
    count: int
    head: str
    findings: tuple[Finding, ...]


Further = Callable[[Records, Unit, tuple[StoredRow, ...], tuple[Entry, ...] | None], Iterable[Finding]]
"""A further check: the unit, its rows and, where all can be read, its entries."""


def audit(store: Store, further: Further | None = None) -> Iterator[Audited]:
    """Every unit of the store in order of serial, a few at a time, whatever its size."""
    after: str | None = None
    while True:
        with store.reading() as records:
            units = records.units(after=after, limit=_AT_ONCE)
            done = [audit_unit(records, unit, further) for unit in units]
        yield from done
        if len(done) < _AT_ONCE:
            return
        after = done[-1].serial


def audit_unit(records: Records, unit: Unit, further: Further | None = None) -> Audited:
    """What is to be said of one unit.

    Codes: CHN001 to CHN005 (:mod:`traveler.record.chain`), CHN006 the definition is not the one the unit was
    issued with, CHN007 the unit is noted otherwise than it was issued, CHN008 references are not those of the
    entries.
    """
    rows = records.rows(unit.serial)
    entries = _read(rows)
    findings = verify_rows(rows, head=unit.head, count=unit.entries, unit=unit.serial, entries=entries)
    findings += [*_definition(records, unit), *_beginning(rows, unit), *_references(records, entries, unit)]
    findings += further(records, unit, rows, entries) if further is not None else ()
    if len(rows) > unit.entries:
        what = f"{len(rows)} entries, but {unit.entries} were noted"
        findings.append(_finding("CHN002", what, unit.serial, unit.entries + 1))
    return Audited(unit.serial, len(rows), unit.head, tuple(findings))


def _read(rows: tuple[StoredRow, ...]) -> tuple[Entry, ...] | None:
    """The rows as entries; None where one cannot be read, which CHN001 says."""
    try:
        return tuple(map(to_entry, rows))
    except StoreDamaged:
        return None


def missing_guards(records: Records) -> list[Finding]:
    """CHN009 for each table whose rows the database would let somebody change."""
    sqlite = "SELECT tbl_name FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'only_append_%'"
    postgresql = (
        "SELECT c.relname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
        "WHERE t.tgname LIKE 'only_append_%' AND t.tgenabled <> 'D' AND pg_table_is_visible(c.oid)"
    )
    asked, each = (sqlite, 2) if records.dialect == "sqlite" else (postgresql, 1)
    found = [str(row[0]) for row in records.ask(text(asked))]
    what = "the guard that refuses changes of '{}' is gone"
    return [
        _finding("CHN009", what.format(table), None, None)
        for table in APPEND_ONLY
        if found.count(table) < each
    ]


def noted_state(unit: Unit, due: str) -> Iterator[Finding]:
    """CHN010: the state noted with the unit is not the one its entries lead to, ``due``."""
    if due != unit.state:
        what = f"it is noted as {unit.state}, but by its entries it is {due}"
        yield _finding("CHN010", what, unit.serial)


def certified(rows: Iterable[StoredRow], serial: str, head: str, count: int) -> Iterator[Finding]:
    """CHN011: the record has not the head that a certificate says, or its beginning, at ``count`` entries."""
    hashes = {row.seq: row.hash for row in rows}
    found = hashes.get(count)
    if found is None or not found.startswith(head):
        there = f"has {len(hashes)} entries" if found is None else f"has {found} there"
        what = f"the certificate says that entry #{count} ends in {head}; the record {there}"
        yield _finding("CHN011", what, serial, count)


def _definition(records: Records, unit: Unit) -> Iterator[Finding]:
    kept = records.definition_of(unit.digest)
    if kept is None:
        yield _finding("CHN006", f"the definition {unit.digest[:12]} it was issued with is gone", unit.serial)
    elif hashlib.sha256(kept.content.encode("utf-8", "replace")).hexdigest() != unit.digest:
        yield _finding("CHN006", f"the definition {unit.digest[:12]} is not what was frozen", unit.serial)


def _beginning(rows: tuple[StoredRow, ...], unit: Unit) -> Iterator[Finding]:
    """The unit's own row repeats its issue, for quick questions."""
    try:
        said = to_entry(rows[0]).body if rows else None
    except StoreDamaged:
        return  # CHN001 says so already
    if not isinstance(said, Issued):
        yield _finding("CHN007", "its record does not begin with its issue", unit.serial, 1)
        return
    for name in ("product", "revision", "variant", "digest", "order", "quantity"):
        if getattr(said, name) != getattr(unit, name):
            what = f"{name} is noted as {getattr(unit, name)}, but it was issued with {getattr(said, name)}"
            yield _finding("CHN007", what, unit.serial, 1)


def _references(records: Records, entries: tuple[Entry, ...] | None, unit: Unit) -> Iterator[Finding]:
    if entries is None:
        return
    due = {(entry.seq, *pair) for entry in entries for pair in entry_references(entry)}
    found = set(records.references(unit.serial))
    for seq, kind, value in sorted(due ^ found, key=str):
        fate = (
            "is missing from the index" if (seq, kind, value) in due else "is in the index without an entry"
        )
        yield _finding("CHN008", f"{kind} {value} {fate}", unit.serial, seq)


def _finding(code: str, what: str, unit: str | None, seq: int | None = None) -> Finding:
    return Finding(code, what, Place(unit=unit, entry=seq), hint=_HINT)
