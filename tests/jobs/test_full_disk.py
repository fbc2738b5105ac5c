"""A really full disk: whatever is written then is listed in one sentence, and nothing half is left of it."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from traveler.jobs.attach import GivenFile, attach
from traveler.jobs.seal import back_up_records, seal
from traveler.jobs.shipping import release
from traveler.record.errors import StoreFull
from traveler.record.seal import read_seals
from traveler.record.store import Store
from traveler.sheets.batch.catalog import print_sheet
from traveler.shop.folder import seal_files
from traveler.trace.export_bag import export
from traveler.trace.judging import judge
from traveler.trace.verify import verify_records


@pytest.fixture
def small_disk(tmp_path: Path, missing: Any) -> Iterator[Path]:
    """A disk of two megabytes."""
    mount = tmp_path / "small"
    mount.mkdir()
    made = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", mount], capture_output=True)
    if made.returncode:
        missing("mounting a small disk needs the right to mount (root)")
    yield mount
    subprocess.run(["umount", mount], check=True)


def fill(disk: Path, leave: int = 0) -> Path:
    """A file that takes all room but ``leave`` bytes."""
    free = os.statvfs(disk)
    file = disk / "ballast"
    with file.open("wb") as ballast:
        ballast.write(b"\0" * max(0, free.f_bavail * free.f_frsize - leave))
    return file


@pytest.mark.long
def test_export_seal_print_and_backup_on_a_full_disk(bench: Any, small_disk: Path) -> None:
    serial = bench.built()
    settings = bench.session.shop.settings.model_copy(update={"seals": (str(small_disk / "seals.jsonl"),)})
    shop = replace(bench.session.shop, settings=settings)
    bench.session = replace(bench.session, shop=shop)
    assert seal(bench.session).findings == ()
    (file,) = seal_files(bench.session.shop)
    before = file.read_bytes()
    ballast = fill(small_disk, leave=8_192)

    with pytest.raises(OSError, match="No space left"):
        export(bench.session, serial, small_disk / "bag.zip")
    with pytest.raises(OSError, match="No space left"):
        export(bench.session, serial, small_disk / "bag")
    with pytest.raises(StoreFull):
        back_up_records(bench.session, small_disk / "backup")
    assert {path.name for path in small_disk.iterdir()} == {"seals.jsonl", "ballast"}

    ballast.unlink()
    ballast = fill(small_disk)
    while not seal(bench.session).findings:  # what is left of the last block of the file
        pass
    before = file.read_bytes()
    step = release(bench.session, serial, "qmoor")
    assert step.taken, "a full disk of the seal does not hold up a release"
    assert [finding.code for finding in step.findings] == ["SEA010"]
    assert "No space left" in step.findings[0].what
    assert file.read_bytes() == before
    assert read_seals(before, "s").findings == ()

    folder = replace(shop, folder=small_disk, settings=settings.model_copy(update={"output": "out"}))
    with bench.session.store.reading() as records:
        judged = judge(bench.session, records, serial)
    printed = print_sheet(replace(bench.session, shop=folder), judged, "unit-label")
    assert [finding.code for finding in printed.findings] == ["PRT001"]
    assert not [path for path in small_disk.rglob("*.pdf*") if path.is_file()]

    ballast.unlink()
    assert seal(bench.session).findings == ()
    assert {finding.code for finding in verify_records(bench.session).findings} == set()


@pytest.mark.long
def test_attaching_on_a_full_disk_keeps_nothing_and_works_once_there_is_room(
    bench: Any, store_url: str, small_disk: Path
) -> None:
    serial = bench.built()
    with Store.open(store_url, attachments=small_disk / "attachments") as store:
        session = replace(bench.session, store=store)
        before = len(judge_entries(session, serial))
        ballast = fill(small_disk, leave=8_192)
        document = [GivenFile("long.txt", b"x" * 200_000)]
        with pytest.raises(StoreFull, match="cannot be kept"):
            attach(session, serial, document, "tkiln")
        assert len(judge_entries(session, serial)) == before
        assert [path for path in (small_disk / "attachments").rglob("*") if path.is_file()] == []
        ballast.unlink()
        (kept,) = attach(session, serial, document, "tkiln").files
        assert store.attachments.get(kept.attachment.digest) == b"x" * 200_000


def judge_entries(session: Any, serial: str) -> tuple[Any, ...]:
    with session.store.reading() as records:
        return tuple(judge(session, records, serial).entries)
