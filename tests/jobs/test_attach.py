"""Photographs and documents: kept once, entered, shown, taken out, verified, and carried by every copy."""

from __future__ import annotations

import hashlib
import io
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from traveler.finding import CannotDo
from traveler.jobs.attach import Attaching, GivenFile, attach
from traveler.jobs.shipping import release
from traveler.record.archive.attachments import attachments_of, take_out
from traveler.record.archive.backup import back_up, copy_store, restore_backup
from traveler.record.attachments import AttachmentFolder
from traveler.record.entry import Noted, Photographed
from traveler.record.errors import StoreFull
from traveler.record.plans import plan_of
from traveler.record.store import Store
from traveler.trace.history import history
from traveler.trace.verify import verify_records

PHOTO, PACKED = "C-2", "C-1/item=1"
PDF = b"%PDF-1.7\n%%EOF\n"


def picture(colour: str = "white") -> bytes:
    out = io.BytesIO()
    notes = Image.Exif()
    notes[0x0112] = 6
    Image.new("RGB", (40, 20), colour).save(out, "JPEG", exif=notes)
    return out.getvalue()


@pytest.fixture
def released(bench: Any) -> str:
    serial: str = bench.built()
    assert release(bench.session, serial, "qmoor").taken
    bench.later()
    return serial


def codes(done: Attaching) -> list[str]:
    return [finding.code for finding in done.findings]


def stored(bench: Any) -> list[str]:
    """The files in the attachments' folder that are not pictures of a definition."""
    folder: AttachmentFolder = bench.session.store.attachments
    return list(folder.digests())


def test_a_photograph_fills_a_photo_slot_and_lies_beside_the_records(bench: Any, released: str) -> None:
    content = picture()
    done = attach(
        bench.session,
        released,
        [GivenFile("../crate.jpg", content)],
        "pstrap",
        slot=PHOTO,
        what="open  crate",
    )
    assert done.findings == ()
    (attached_file,) = done.files
    digest = hashlib.sha256(content).hexdigest()
    assert attached_file.entry.body == Photographed(file=digest, name="crate.jpg", text="open crate")
    assert bench.session.store.attachments.get(digest) == content
    assert str(done.judged.verdict.slots[PHOTO].state) == "done"
    assert done.judged.verdict.slots[PHOTO].value == "crate.jpg"
    with bench.session.store.reading() as records:
        kept = records.attachment(digest)
    assert (kept.media_type, kept.size) == ("image/jpeg", len(content))


def test_a_document_is_a_note_that_names_it(bench: Any, released: str) -> None:
    done = attach(
        bench.session, released, [GivenFile("motor.pdf", PDF)], "iwren", what="Certificate of the motor"
    )
    body = done.files[0].entry.body
    assert isinstance(body, Noted)
    assert (body.text, body.name) == ("Certificate of the motor", "motor.pdf")
    plain = attach(bench.session, released, [GivenFile("values.csv", b"a,b\n1,2\n")], "iwren")
    assert plain.files[0].attachment.media_type == "text/csv"
    assert plain.files[0].entry.body.text == "values.csv"


def test_the_same_file_is_kept_and_entered_once(bench: Any, released: str) -> None:
    before = stored(bench)
    given = [GivenFile("a.jpg", picture()), GivenFile("b.jpg", picture())]
    first = attach(bench.session, released, given, "pstrap", slot=PHOTO)
    again = attach(bench.session, released, [GivenFile("c.jpg", picture())], "pstrap", slot=PHOTO)
    assert [file.new for file in first.files] == [True]
    assert [(file.new, file.entry.seq) for file in again.files] == [(False, first.files[0].entry.seq)]
    elsewhere = attach(bench.session, released, [GivenFile("d.jpg", picture())], "pstrap")
    assert [file.new for file in elsewhere.files] == [True]
    assert len(stored(bench)) == len(before) + 1


REFUSED = [
    ([GivenFile("x.jpg", b"")], {}, "ATT001"),
    ([GivenFile("x.jpg", b"MZ\x90\x00")], {}, "ATT002"),
    ([GivenFile("x.gif", b"GIF89a....")], {}, "ATT002"),
    ([GivenFile("x.jpg", picture()[:300])], {}, "ATT003"),
    ([GivenFile("x.pdf", PDF)], {"slot": PHOTO}, "ATT008"),
    ([GivenFile("x.jpg", picture())], {"slot": "99-9"}, "ENT001"),
    ([GivenFile("x.jpg", picture())], {"by": "nobody"}, "PER001"),
    ([GivenFile("x.jpg", picture())], {"by": "oldhand"}, "PER003"),
    ([GivenFile("x.jpg", picture())], {"by": "tkiln", "slot": PHOTO}, "PER002"),
    ([GivenFile("x.jpg", picture())], {"hours": 2}, "SEQ005"),
    ([GivenFile("good.jpg", picture("red")), GivenFile("x.jpg", b"MZ\x90\x00")], {}, "ATT002"),
]  # fmt: skip


@pytest.mark.parametrize(("files", "how", "code"), REFUSED)
def test_what_speaks_against_one_file_keeps_none(
    bench: Any, released: str, files: list[GivenFile], how: dict[str, Any], code: str
) -> None:
    before = stored(bench)
    at = bench.session.now + timedelta(hours=how.get("hours", 0))
    done = attach(bench.session, released, files, how.get("by", "pstrap"), slot=how.get("slot"), at=at)
    assert code in codes(done)
    assert done.files == ()
    assert stored(bench) == before
    with bench.session.store.reading() as records:
        assert not any(isinstance(entry.body, Photographed | Noted) for entry in records.entries(released))


def test_kinds_and_size_are_settings(bench: Any, released: str) -> None:
    shop = bench.session.shop
    settings = shop.settings.model_copy(
        update={"attachment_types": ("application/pdf",), "attachment_megabytes": 1}
    )
    bench.session = replace(bench.session, shop=replace(shop, settings=settings))
    assert codes(attach(bench.session, released, [GivenFile("x.jpg", picture())], "pstrap")) == ["ATT002"]
    assert codes(attach(bench.session, released, [GivenFile("x.pdf", PDF)], "pstrap")) == []
    assert codes(attach(bench.session, released, [GivenFile("y.pdf", PDF + b" " * 1_000_000)], "pstrap")) == [
        "ATT001"
    ]


def test_it_is_listed_upright_and_taken_out_as_it_was_given(
    bench: Any, released: str, tmp_path: Path
) -> None:
    content = picture()
    attach(bench.session, released, [GivenFile("crate 1.jpg", content)], "pstrap", slot=PHOTO)
    attach(bench.session, released, [GivenFile("photo.jpg", PDF)], "pstrap")
    first, second = (
        attachment
        for attachment in attachments_of(bench.session.store, released)
        if attachment.said or attachment.entry.slot
    )
    assert first.facts is not None
    assert (first.facts.width, first.facts.height, first.facts.turned) == (20, 40, 90)
    assert second.facts is None
    taken = [
        listed_file.file
        for listed_file in take_out(bench.session.store, released, tmp_path / "out")
        if listed_file.entry.body.kind != "issued"
    ]
    assert taken[0] is not None
    assert taken[0].name == f"{first.entry.seq:04}-crate_1.jpg"
    assert taken[0].read_bytes() == content
    assert taken[1] is not None
    assert taken[1].name.endswith("-photo.jpg.pdf")
    assert take_out(bench.session.store, released, tmp_path / "out")
    taken[0].write_bytes(b"mine")
    with pytest.raises(CannotDo, match="another file"):
        take_out(bench.session.store, released, tmp_path / "out")
    assert taken[0].read_bytes() == b"mine"


def test_it_is_told_in_the_life_of_the_unit(bench: Any, released: str) -> None:
    attach(
        bench.session, released, [GivenFile("crate.jpg", picture())], "pstrap", slot=PHOTO, what="open crate"
    )
    with bench.session.store.reading() as records:
        unit = records.unit(released)
        lines = history(unit, records.entries(released), plan_of(records, unit)).lines
    assert any(line.text.startswith("photograph crate.jpg, open crate, SHA-256 ") for line in lines)


@pytest.mark.parametrize(("harm", "code"), [("missing", "ATT004"), ("changed", "ATT005")])
def test_verify_finds_a_file_that_is_missing_or_changed_and_attaching_it_again_heals(
    bench: Any, released: str, harm: str, code: str
) -> None:
    content = picture()
    done = attach(bench.session, released, [GivenFile("crate.jpg", content)], "pstrap", slot=PHOTO)
    assert verify_records(bench.session).findings == ()
    path = bench.session.store.attachments.path(done.files[0].attachment.digest)
    if harm == "missing":
        path.unlink()
    else:
        path.write_bytes(content[:-1] + b"!")
    assert [finding.code for finding in verify_records(bench.session).findings] == [code]
    assert [finding.code for finding in verify_records(bench.session, [released]).findings] == [code]
    (listed,) = [
        attachment
        for attachment in attachments_of(bench.session.store, released)
        if attachment.wrong is not None
    ]
    assert listed.wrong is not None
    assert listed.wrong.code == code
    attach(bench.session, released, [GivenFile("again.jpg", content)], "pstrap", slot=PHOTO)
    assert verify_records(bench.session).findings == ()


def test_a_file_that_no_record_knows_is_noted(bench: Any, released: str) -> None:
    bench.session.store.attachments.put(b"left by an interrupted job")
    (found,) = verify_records(bench.session).findings
    assert (found.code, found.weight) == ("ATT007", "note")


def test_an_entry_that_names_a_file_the_records_do_not_know_is_found(bench: Any, released: str) -> None:
    from traveler.jobs.append import add

    add(bench.session, released, Photographed(file="ab" * 32, name="x.jpg"), "pstrap", slot=PHOTO)
    assert [finding.code for finding in verify_records(bench.session).findings] == ["ATT006"]


def test_a_full_disk_keeps_nothing_of_it(bench: Any, released: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with bench.session.store.reading() as records:
        before = records.unit(released)
    monkeypatch.setattr("traveler.record.attachments.write_whole", full)
    with pytest.raises(StoreFull, match="cannot be kept"):
        attach(bench.session, released, [GivenFile("crate.jpg", picture())], "pstrap", slot=PHOTO)
    monkeypatch.undo()
    with bench.session.store.reading() as records:
        assert records.unit(released) == before
    assert verify_records(bench.session).findings == ()


def test_every_copy_carries_the_files(bench: Any, released: str, tmp_path: Path) -> None:
    content = picture()
    done = attach(bench.session, released, [GivenFile("crate.jpg", content)], "pstrap", slot=PHOTO)
    digest = done.files[0].attachment.digest
    assert back_up(bench.session.store, tmp_path / "backup").findings == ()
    (tmp_path / "restored").mkdir()
    with Store.open(f"sqlite:///{tmp_path / 'restored' / 'records.db'}") as restored:
        assert restore_backup(tmp_path / "backup", restored).findings == ()
        assert restored.attachments.get(digest) == content
    with Store.open(f"sqlite:///{tmp_path / 'moved.db'}", attachments=tmp_path / "moved") as moved:
        assert copy_store(bench.session.store, moved).findings == ()
        assert moved.attachments.get(digest) == content
