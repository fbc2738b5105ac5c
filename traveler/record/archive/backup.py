"""A copy of a store while others write to it, and a store from such a copy; both are audited.

A backup is a folder with ``records.db`` (SQLite, whatever the store is) and ``attachments/``. The same
copying moves a store from SQLite to PostgreSQL and back.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import insert, select, text

from traveler.files import new_folder
from traveler.finding import Finding
from traveler.record.audit import audit, audit_files
from traveler.record.errors import StoreDamaged, StoreUnreachable, disk_errors
from traveler.record.store import Store
from traveler.record.tables import metadata

_ELSEWHERE = "free some space, or name another folder"
_AT_ONCE = 2_000
"""Rows copied at a time."""


@dataclass(frozen=True, slots=True)
class Copied:
    """What a copy holds, and what its audit found."""

    units: int
    entries: int
    attachments: int
    findings: tuple[Finding, ...]


def copy_store(source: Store, target: Store) -> Copied:
    """Copies everything into an empty store, in one transaction, from one view of the source; then audits it.

    Raises:
        StoreUnreachable: the target holds units already.
        StoreError: either store fails; the target is then as empty as before.
    """
    with target.transaction() as into, source.reading() as records:
        if into.units(limit=1):
            what = f"{target.name} holds records already"
            raise StoreUnreachable(what, "copy into an empty database")
        for table in metadata.sorted_tables:
            rows = records.ask(select(table).execution_options(yield_per=_AT_ONCE)).mappings()
            for some in rows.partitions(_AT_ONCE):
                into.ask(insert(table), [dict(row) for row in some])
        into.ask(text("ANALYZE"))  # else look-ups are planned for the empty tables of a moment ago
    count, lost = _copy_attachments(source, target)
    return _audited(target, count, lost)


def back_up(store: Store, folder: Path, further: Mapping[str, bytes] | None = None) -> Copied:
    """Writes a backup into a new folder; it appears under its name only when it is whole and audited.

    ``further`` are files to keep with it, by name: the seal file.

    Raises:
        StoreUnreachable: there is something of this name already, or it cannot be written.
        StoreFull: the disk is full; nothing of the backup is left.
    """
    if folder.exists():
        raise StoreUnreachable(f"{folder} exists already", "name a new folder")
    with disk_errors(f"the backup cannot be written: {folder}", _ELSEWHERE), new_folder(folder) as part:
        with Store.open(f"sqlite:///{part / 'records.db'}") as copy:
            copied = copy_store(store, copy)
        for name, content in (further or {}).items():
            (part / name).write_bytes(content)
    return copied


def restore_backup(folder: Path, target: Store) -> Copied:
    """Fills an empty store from a backup, which is only read: it may lie on a medium that is written once.

    A backup of older tables is brought up to date on the way.

    Raises:
        StoreUnreachable: there is no backup in the folder, or the target is not empty.
        StoreDamaged: the backup is not what was written; nothing was restored.
    """
    with _copied(folder) as url, Store.open(url, create=False, attachments=folder / "attachments") as backup:
        wrong = [finding for audited in audit(backup) for finding in audited.findings]
        if wrong:
            raise StoreDamaged(f"the backup in {folder} is damaged: {wrong[0]}", "take an older backup")
        return copy_store(backup, target)


@contextmanager
def _copied(folder: Path) -> Iterator[str]:
    """The address of a copy of the backup's database: to open one is to write beside it."""
    with tempfile.TemporaryDirectory(prefix="traveler-backup-") as temporary:
        copy = Path(temporary) / "records.db"
        with disk_errors(f"the backup cannot be read: {folder}", _ELSEWHERE):
            for path in folder.glob("records.db*"):
                shutil.copyfile(path, copy.with_name(path.name))
        if not copy.exists():
            what = f"there are no records at {folder / 'records.db'}"
            raise StoreUnreachable(what, "name the folder of a backup")
        yield f"sqlite:///{copy}"


def _copy_attachments(source: Store, target: Store) -> tuple[int, list[Finding]]:
    """How many were copied, and what is wrong with the others: a lost photograph must not cost the backup."""
    with source.reading() as records:
        attachments = records.attachments()
    count, lost = 0, []
    for attachment, wrong in audit_files(source, attachments):
        if wrong is not None:
            lost.append(wrong)
            continue
        if target.attachments.put(source.attachments.get(attachment.digest)) != attachment.digest:
            raise StoreDamaged(f"the attachment {attachment.digest[:12]} was not copied whole", "do it again")
        count += 1
    return count, lost


def _audited(store: Store, attachments: int, lost: Sequence[Finding]) -> Copied:
    units = entries = 0
    findings: list[Finding] = [*lost]
    for audited in audit(store):
        units, entries = units + 1, entries + audited.count
        findings += audited.findings
    return Copied(units, entries, attachments, tuple(findings))
