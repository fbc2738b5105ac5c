"""A really full disk: whatever is written then is told in one sentence, and nothing half is left of it."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from traveler.jobs.attach import Given, attach
from traveler.jobs.backup import back_up_records
from traveler.jobs.export import export
from traveler.jobs.judge import judge
from traveler.jobs.life import release
from traveler.jobs.seal import seal
from traveler.jobs.sheets import print_sheet
from traveler.jobs.verify import verify
from traveler.record.seal import read_seals
from traveler.record.store import Store
from traveler.record.trouble import StoreFull
from traveler.shop.folder import seal_files


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
    settings = bench.office.shop.settings.model_copy(update={"seals": (str(small_disk / "seals.jsonl"),)})
    shop = replace(bench.office.shop, settings=settings)
    bench.office = replace(bench.office, shop=shop)
    assert seal(bench.office).findings == ()
    (file,) = seal_files(bench.office.shop)
    before = file.read_bytes()
    ballast = fill(small_disk, leave=8_192)

    with pytest.raises(OSError, match="No space left"):
        export(bench.office, serial, small_disk / "bag.zip")
    with pytest.raises(OSError, match="No space left"):
        export(bench.office, serial, small_disk / "bag")
    with pytest.raises(StoreFull):
        back_up_records(bench.office, small_disk / "backup")
    assert {one.name for one in small_disk.iterdir()} == {"seals.jsonl", "ballast"}

    ballast.unlink()
    ballast = fill(small_disk)
    while not seal(bench.office).findings:  # what is left of the last block of the file
        pass
    before = file.read_bytes()
    step = release(bench.office, serial, "qmoor")
    assert step.taken, "a full disk of the seal does not hold up a release"
    assert [one.code for one in step.findings] == ["SEA010"]
    assert "No space left" in step.findings[0].what
    assert file.read_bytes() == before
    assert read_seals(before, "s").findings == ()

    folder = replace(shop, folder=small_disk, settings=settings.model_copy(update={"output": "out"}))
    with bench.office.store.reading() as records:
        judged = judge(bench.office, records, serial)
    printed = print_sheet(replace(bench.office, shop=folder), judged, "unit-label")
    assert [one.code for one in printed.findings] == ["PRT001"]
    assert not [one for one in small_disk.rglob("*.pdf*") if one.is_file()]

    ballast.unlink()
    assert seal(bench.office).findings == ()
    assert {one.code for one in verify(bench.office).findings} == set()


@pytest.mark.long
def test_attaching_on_a_full_disk_keeps_nothing_and_works_once_there_is_room(
    bench: Any, store_url: str, small_disk: Path
) -> None:
    serial = bench.built()
    with Store.open(store_url, attachments=small_disk / "attachments") as store:
        office = replace(bench.office, store=store)
        before = len(judge_entries(office, serial))
        ballast = fill(small_disk, leave=8_192)
        document = [Given("long.txt", b"x" * 200_000)]
        with pytest.raises(StoreFull, match="cannot be kept"):
            attach(office, serial, document, "tkiln")
        assert len(judge_entries(office, serial)) == before
        assert [one for one in (small_disk / "attachments").rglob("*") if one.is_file()] == []
        ballast.unlink()
        (kept,) = attach(office, serial, document, "tkiln").files
        assert store.attachments.get(kept.attachment.digest) == b"x" * 200_000


def judge_entries(office: Any, serial: str) -> tuple[Any, ...]:
    with office.store.reading() as records:
        return tuple(judge(office, records, serial).entries)
