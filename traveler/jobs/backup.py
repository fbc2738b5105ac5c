"""Copies of the records: a backup while others write, a shop from a backup, a move to another database."""

from __future__ import annotations

from pathlib import Path

from traveler.jobs.cannot import CannotDo
from traveler.jobs.office import Office
from traveler.jobs.seal import SEAL_FILE
from traveler.jobs.whole_file import write_whole
from traveler.record.backup import Copied, back_up, copy_store, restore
from traveler.record.engine import address
from traveler.record.store import Store
from traveler.shop.folder import seal_files

__all__ = ["Copied", "back_up_records", "move_records", "restore_records"]


def back_up_records(office: Office, folder: Path) -> Copied:
    """Writes the records as they are now into a new folder, with the seal file, and verifies the copy.

    Raises:
        StoreTrouble: there is something of this name already, or the disk is full; nothing is left of it.
    """
    seals = next((one for one in seal_files(office.shop) if one.is_file()), None)
    further = (
        {} if seals is None else {SEAL_FILE: seals.read_bytes()}
    )  # before the records, which are ahead of it
    return back_up(office.store, folder, further)


def restore_records(office: Office, folder: Path) -> Copied:
    """Fills the empty records of a shop from a backup, and verifies them; a shop without seal file gets its.

    Raises:
        StoreTrouble: no backup there, a damaged one, or the shop has records already.
    """
    copied = restore(folder, office.store)
    own, kept = next(iter(seal_files(office.shop)), None), folder / SEAL_FILE
    if own is not None and not own.exists() and kept.is_file():
        write_whole(own, kept.read_bytes())
    return copied


def move_records(office: Office, url: str) -> Copied:
    """Copies the records into an empty database elsewhere, and verifies them there; the old ones stay.

    Raises:
        CannotDo: it is the database the records are in.
        StoreTrouble: the address is wrong, or the database is not empty.
    """
    if address(url, office.shop.folder) == office.store.url:
        what = "the records are in that database already"
        raise CannotDo(what, "name another one")
    with Store.open(url, folder=office.shop.folder) as target:
        return copy_store(office.store, target)
