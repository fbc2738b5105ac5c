"""Sealing where chains end, and copies of the records: backup, restore, move."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from traveler.files import write_whole
from traveler.finding import CannotDo, Finding, Place, Weight
from traveler.record.archive.backup import Copied, back_up, copy_store, restore_backup
from traveler.record.engine import database_address
from traveler.record.records import Records, Unit
from traveler.record.seal import (
    Said,
    add_lines,
    bring_up_to,
    content_of,
    first_seal,
    last_seal_line,
    read_seals,
    seal_file_held,
)
from traveler.record.store import Store
from traveler.record.stored import time_text
from traveler.shop.folder import Shop, seal_files
from traveler.shop.session import Session

SEAL_FILE = "seals.jsonl"
"""The name of a seal file in a folder."""

_AT_ONCE = 500
_AGAIN = "see to it, then run 'traveler records seal'"


@dataclass(frozen=True, slots=True)
class Sealed:
    """How many units were sealed, the files that say so, and what was wrong with them."""

    units: int
    files: tuple[Path, ...]
    findings: tuple[Finding, ...]


def last_seal(shop: Shop) -> tuple[str, str] | None:
    """The hashes of the first and the last line of the shop's seal file; None: there is none, or altered."""
    file = next(iter(seal_files(shop)), None)
    if file is None or not file.is_file():
        return None
    try:
        with seal_file_held(file) as opened:
            first, end = first_seal(opened), last_seal_line(opened)
    except OSError:
        return None
    return (first, end[1]) if first is not None and end is not None and end[0] else None


def seal_units(session: Session, serials: Iterable[str]) -> Sealed:
    """Notes where the chains of these units end now, as a release does.

    What goes wrong never holds up a release: findings are warnings. SEA010 a file could not be written or
    was altered and is not added to; SEA011 a copy is not a copy.
    """
    with session.store.reading() as records:
        units = [unit for serial in serials if (unit := records.unit(serial)) is not None]
        says = [*map(_unit, units), _store(records)]
    return _write(session, says, len(units))


def seal(session: Session, to: Path | None = None) -> Sealed:
    """Notes every unit whose chain grew since it was last sealed, and brings the copies up to date.

    ``to`` is a further copy, or the folder for one. Findings: as :func:`seal_units`.

    Raises:
        CannotDo: the shop keeps no seal file.
    """
    files = seal_files(session.shop)
    if not files:
        what = "this shop keeps no seal file: 'seals' in shop.yaml is empty"
        raise CannotDo(what, "name one, such as seals: [seals.jsonl]")
    sealed = {}
    if files[0].is_file():
        book = read_seals(files[0].read_bytes(), str(files[0]))
        sealed = {
            serial: (lines[-1].says["count"], lines[-1].says["head"]) for serial, lines in book.units.items()
        }
    says: list[Said] = []
    after: str | None = None
    with session.store.reading() as records:
        while some := records.units(after=after, limit=_AT_ONCE):
            says += [_unit(unit) for unit in some if sealed.get(unit.serial) != (unit.entries, unit.head)]
            after = some[-1].serial
        grown = len(says)
        says.append(_store(records))
    further = () if to is None else (to / SEAL_FILE if to.is_dir() else to,)
    return _write(session, says, grown, further)


def _unit(unit: Unit) -> Said:
    return "unit", {"unit": unit.serial, "count": unit.entries, "head": unit.head}


def _store(records: Records) -> Said:
    units, entries = records.totals()
    return "store", {"units": units, "entries": entries}


def _write(session: Session, says: Sequence[Said], units: int, further: Sequence[Path] = ()) -> Sealed:
    files = seal_files(session.shop)
    if not files:
        return Sealed(0, (), ())
    try:
        with seal_file_held(files[0]) as opened:
            end = last_seal_line(opened)
            if end is None:
                return Sealed(0, (), (_finding("SEA010", files[0], "its last line is not what was written"),))
            add_lines(opened, end, time_text(session.now), session.shop.settings.name, says)
            content = content_of(opened)
    except OSError as problem:
        return Sealed(0, (), (_finding("SEA010", files[0], f"{problem.strerror}"),))
    written, findings = [files[0]], []
    for copy in (*files[1:], *further):
        try:
            if bring_up_to(copy, content):
                written.append(copy)
            else:
                what = f"it is not a copy of {files[0]}: what is in it is not the beginning of that"
                findings.append(_finding("SEA011", copy, what, "find out which of the two was changed"))
        except OSError as problem:
            findings.append(_finding("SEA010", copy, f"{problem.strerror}"))
    return Sealed(units, tuple(written), tuple(findings))


def _finding(code: str, file: Path, problem: str, hint: str = _AGAIN) -> Finding:
    what = f"the seal was not written: {problem}"
    return Finding(code, what, Place(str(file)), Weight.WARNING, hint=hint)


__all__ = ["Copied", "back_up_records", "move_records", "restore_records"]


def back_up_records(session: Session, folder: Path) -> Copied:
    """Writes the records as they are now into a new folder, with the seal file, and verifies the copy.

    Raises:
        StoreError: there is something of this name already, or the disk is full; nothing is left of it.
    """
    seals = next((file for file in seal_files(session.shop) if file.is_file()), None)
    # read before the records, which then are ahead of it
    further = {} if seals is None else {SEAL_FILE: seals.read_bytes()}
    return back_up(session.store, folder, further)


def restore_records(session: Session, folder: Path) -> Copied:
    """Fills the empty records of a shop from a backup, and verifies them; a shop without seal file gets its.

    Raises:
        StoreError: no backup there, a damaged one, or the shop has records already.
    """
    copied = restore_backup(folder, session.store)
    own, kept = next(iter(seal_files(session.shop)), None), folder / SEAL_FILE
    if own is not None and not own.exists() and kept.is_file():
        write_whole(own, kept.read_bytes())
    return copied


def move_records(session: Session, url: str) -> Copied:
    """Copies the records into an empty database elsewhere, and verifies them there; the old ones stay.

    Raises:
        CannotDo: it is the database the records are in.
        StoreError: the address is wrong, or the database is not empty.
    """
    if database_address(url, session.shop.folder) == session.store.url:
        what = "the records are in that database already"
        raise CannotDo(what, "name another one")
    with Store.open(url, folder=session.shop.folder) as target:
        return copy_store(session.store, target)
