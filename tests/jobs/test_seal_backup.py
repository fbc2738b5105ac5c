"""A backup holds records, attachments and the seal; a shop restored from it verifies against all of them."""

from __future__ import annotations

import threading
from dataclasses import replace
from pathlib import Path
from typing import Any

from traveler.jobs.seal import back_up_records, restore_records, seal
from traveler.jobs.shipping import release
from traveler.record.attachments import EVERY, examined
from traveler.record.entry import Noted, Photographed
from traveler.record.store import Store
from traveler.trace.verify import verify_records

PHOTO = b"\xff\xd8\xff photograph"


def photographed(bench: Any, serial: str, tmp_path: Path) -> str:
    bench.session.store._attachments = tmp_path / "kept"
    photo = examined(PHOTO, "crate.jpg", EVERY)
    with bench.session.store.transaction() as work:
        work.keep_file(photo, PHOTO, bench.session.now)
        body = Photographed(file=photo.digest, name="crate.jpg")
        work.append(bench.session.draft(serial, "tkiln", body), bench.session.now)
    return str(photo.digest)


def test_a_shop_restored_from_a_backup_made_while_others_wrote_is_whole(bench: Any, tmp_path: Path) -> None:
    serial = bench.built()
    digest = photographed(bench, serial, tmp_path)
    assert release(bench.session, serial, "qmoor").taken
    stop = threading.Event()

    def others() -> None:
        while not stop.is_set():
            with bench.session.store.transaction() as work:
                work.append(bench.session.draft(serial, "rhale", Noted(text="meanwhile")), bench.session.now)
            seal(bench.session)

    writer = threading.Thread(target=others)
    writer.start()
    try:
        copied = back_up_records(bench.session, tmp_path / "backup")
    finally:
        stop.set()
        writer.join()
    assert (copied.findings, copied.attachments) == ((), 1)
    names = sorted(path.name for path in (tmp_path / "backup").iterdir())
    assert names == ["attachments", "records.db", "seals.jsonl"]

    folder = tmp_path / "new"
    folder.mkdir()
    shop = replace(bench.session.shop, folder=folder)
    with Store.open(f"sqlite:///{folder / 'records.db'}") as store:
        session = replace(bench.session, shop=shop, store=store)
        restore_records(session, tmp_path / "backup")
        done = verify_records(session)
        assert done.findings == ()
        assert done.seals == (str(folder / "seals.jsonl"),)
        assert store.attachments.get(digest) == PHOTO
        own = folder / "seals.jsonl"
        assert own.read_bytes() == (tmp_path / "backup" / "seals.jsonl").read_bytes()
