"""Attachments: told by their first bytes, limited in size."""

from __future__ import annotations

import hashlib

import pytest

from traveler.finding import Finding
from traveler.record.attachments import EVERY, LARGEST, AttachmentFolder, examined
from traveler.record.errors import StoreUnreachable
from traveler.record.store import Store


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        (b"\xff\xd8\xff\xe0....", "image/jpeg"),
        (b"\x89PNG\r\n\x1a\n....", "image/png"),
        (b"%PDF-1.7\n", "application/pdf"),
        ("Prüfbericht, 25 µm".encode(), "text/plain"),
    ],
)
def test_the_type_is_told_from_the_first_bytes(content, kind):
    kept = examined(content, "../somewhere/crate.exe", EVERY)
    assert (kept.digest, kept.name, kept.media_type, kept.size) == (
        hashlib.sha256(content).hexdigest(), "crate.exe", kind, len(content),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("content", "code"),
    [(b"", "ATT001"), (b"x" * (LARGEST + 1), "ATT001"), (b"MZ\x90\x00", "ATT002"), (b"\xff\xfe", "ATT002")],
)
def test_what_is_not_kept_is_told_with_its_file(content, code):
    told = examined(content, "crate.jpg")
    assert isinstance(told, Finding)
    assert (told.code, told.place.file) == (code, "crate.jpg")
    assert told.hint


def test_a_folder_that_cannot_be_written_is_told(tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StoreUnreachable, match="cannot be kept"):
        AttachmentFolder(tmp_path / "file").put(b"x")


def test_attachments_lie_beside_the_database_file(tmp_path):
    with Store.open(f"sqlite:///{tmp_path / 'records.db'}") as store:
        assert store.attachments.folder == tmp_path / "attachments"
    with Store.open("sqlite://") as store, pytest.raises(StoreUnreachable, match="no folder"):
        store.attachments.put(b"x")
