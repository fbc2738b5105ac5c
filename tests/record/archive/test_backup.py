"""Backups, restores and moves: whole, audited, and possible while others write."""

from __future__ import annotations

import shutil
import threading
from dataclasses import replace

import pytest
from sqlalchemy import select

from traveler.record.archive.backup import back_up, copy_store, restore_backup
from traveler.record.attachments import EVERY, Attachment, AttachmentFolder, examined
from traveler.record.entry import Noted
from traveler.record.errors import StoreDamaged, StoreFull, StoreUnreachable
from traveler.record.store import Store
from traveler.record.tables import metadata


def content(store: Store) -> dict[str, list]:
    """Everything a store holds."""
    with store.reading() as records:
        return {
            name: sorted(map(str, records.ask(select(table)))) for name, table in metadata.tables.items()
        }  # fmt: skip


@pytest.fixture
def worked(store, samples, tmp_path) -> Store:
    """A store with something in every table."""
    store._attachments = tmp_path / "kept"
    with store.transaction() as tx:
        tx.append_all(samples.work("BW4-1"), samples.now)
        tx.next_number("BW")
        tx.mark_seen("d", "BW4-1", samples.now)
        tx.use_token("t", samples.now)
        tx.note_pin_trials("qmoor", replace(tx.hold_pin_trials("qmoor", samples.now), failures=2))
        picture = b"\xff\xd8\xff a picture"
        kept = examined(picture, "crate.jpg", EVERY)
        assert isinstance(kept, Attachment)
        tx.keep_file(kept, picture, samples.now)
    assert all(content(store).values())
    return store


def test_a_backup_holds_everything_and_restores_to_the_same(worked, tmp_path):
    backup = tmp_path / "backup"
    copied = back_up(worked, backup)
    assert (copied.units, copied.entries, copied.attachments, copied.findings) == (1, 4, 1, ())
    assert sorted(path.name for path in backup.iterdir()) == ["attachments", "records.db"]
    with Store.open(f"sqlite:///{tmp_path / 'new.db'}") as again:
        again._attachments = tmp_path / "kept-again"
        assert restore_backup(backup, again) == copied
        assert content(again) == content(worked)
        (kept,) = [path for path in (tmp_path / "kept-again").rglob("*") if path.is_file()]
        assert kept.read_bytes() == b"\xff\xd8\xff a picture"


@pytest.mark.postgres
def test_a_store_moves_from_sqlite_to_postgresql_and_back(samples, postgres_url, tmp_path):
    with Store.open(f"sqlite:///{tmp_path / 'a.db'}") as store, Store.open(postgres_url) as two:
        with store.transaction() as tx:
            tx.put_definition(samples.definition())
            tx.issue(samples.issued("BW4-1"), samples.now)
            tx.append_all(samples.work("BW4-1"), samples.now)
        assert copy_store(store, two).findings == ()
        with Store.open(f"sqlite:///{tmp_path / 'b.db'}") as three:
            assert copy_store(two, three).entries == 4
            assert content(store) == content(two) == content(three)
        with two.transaction() as tx:
            tx.append(samples.draft("BW4-1", Noted(text="goes on there")), samples.now)


def test_a_backup_taken_while_others_write_is_sound(worked, samples, tmp_path):
    stop = threading.Event()

    def write() -> None:
        while not stop.is_set():
            with worked.transaction() as tx:
                tx.append_all(samples.work("BW4-1"), samples.now)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        copies = [back_up(worked, tmp_path / f"backup{turn}") for turn in range(3)]
    finally:
        stop.set()
        writer.join()
    assert [copy.findings for copy in copies] == [(), (), ()]
    assert all(copy.entries % 3 == 1 for copy in copies), "a transaction is in a backup whole or not at all"


def test_a_store_with_records_is_never_written_over(worked, tmp_path):
    backup = tmp_path / "backup"
    back_up(worked, backup)
    before = content(worked)
    with pytest.raises(StoreUnreachable, match="already"):
        restore_backup(backup, worked)
    with pytest.raises(StoreUnreachable, match="already"):
        back_up(worked, backup)
    assert content(worked) == before


def test_a_damaged_backup_is_not_restored(worked, tmp_path):
    import sqlite3

    backup = tmp_path / "backup"
    back_up(worked, backup)
    with sqlite3.connect(backup / "records.db") as connection:
        connection.execute("DROP TRIGGER only_append_entry_update")
        connection.execute("UPDATE entry SET body = replace(body, '0.041', '0.040')")
    connection.close()
    with Store.open(f"sqlite:///{tmp_path / 'new.db'}") as again:
        with pytest.raises(StoreDamaged, match="CHN001"):
            restore_backup(backup, again)
        with again.reading() as records:
            assert records.units() == ()


def test_no_backup_in_a_folder_is_told(tmp_path):
    with (
        Store.open(f"sqlite:///{tmp_path / 'new.db'}") as again,
        pytest.raises(StoreUnreachable, match="no records"),
    ):
        restore_backup(tmp_path / "nowhere", again)


def test_a_backup_that_fails_leaves_nothing_behind(worked, tmp_path, monkeypatch):
    def full(self, content):
        raise StoreFull("the attachment cannot be kept", "free some space")

    monkeypatch.setattr(AttachmentFolder, "put", full)
    with pytest.raises(StoreFull, match="attachment"):
        back_up(worked, tmp_path / "backup")
    assert not [path for path in tmp_path.iterdir() if "backup" in path.name]


def test_a_lost_attachment_is_told_and_does_not_cost_the_backup(worked, tmp_path):
    shutil.rmtree(tmp_path / "kept")
    done = back_up(worked, tmp_path / "backup")
    assert [finding.code for finding in done.findings] == ["ATT004"] * len(done.findings)
    assert done.findings
    assert done.attachments == 0
    with Store.open(f"sqlite:///{tmp_path / 'again.db'}") as again:
        assert restore_backup(tmp_path / "backup", again).units == done.units


def test_an_attachment_changed_on_disk_is_found(tmp_path):
    folder = AttachmentFolder(tmp_path)
    digest = folder.put(b"hello")
    assert folder.put(b"hello") == digest
    assert folder.get(digest) == b"hello"
    folder.path(digest).write_bytes(b"hullo")
    with pytest.raises(StoreDamaged, match="changed"):
        folder.get(digest)
    assert [path.name for path in tmp_path.rglob("*") if path.is_file()] == [digest]
