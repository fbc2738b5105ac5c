"""Copies of the records: a backup while others write, a shop from a backup, a move to another database."""

from __future__ import annotations

from pathlib import Path

from traveler.jobs.cannot import CannotDo
from traveler.jobs.office import Office
from traveler.record.backup import Copied, back_up, copy_store, restore
from traveler.record.engine import address
from traveler.record.store import Store

__all__ = ["Copied", "back_up_records", "move_records", "restore_records"]


def back_up_records(office: Office, folder: Path) -> Copied:
    """Writes the records as they are now into a new folder, and verifies the copy.

    Raises:
        StoreTrouble: there is something of this name already, or the disk is full; nothing is left of it.
    """
    return back_up(office.store, folder)


def restore_records(office: Office, folder: Path) -> Copied:
    """Fills the empty records of a shop from a backup, and verifies them.

    Raises:
        StoreTrouble: no backup there, a damaged one, or the shop has records already.
    """
    return restore(folder, office.store)


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
