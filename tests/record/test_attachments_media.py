"""What a file is, told from its bytes; pictures looked at, turned ones too."""

from __future__ import annotations

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageFile

from traveler.record.attachments import CALLED, ENDINGS, PictureFacts, media_type, named, picture_facts


def picture(kind: str, size: tuple[int, int] = (40, 20), **rest: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "white").save(out, kind, **rest)
    return out.getvalue()


def turned(way: int) -> bytes:
    """A photograph as a phone stores it: lying, with a remark how to hold it, and when it was taken."""
    notes = Image.Exif()
    notes[0x0112] = way
    notes.get_ifd(0x8769)[0x9003] = "2026:11:02 09:30:00"
    return picture("JPEG", exif=notes)


MADE = {
    "image/jpeg": picture("JPEG"),
    "image/png": picture("PNG"),
    "image/gif": picture("GIF"),
    "image/tiff": picture("TIFF"),
    "image/webp": picture("WEBP"),
    "image/heic": b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00",
    "image/avif": b"\x00\x00\x00\x1cftypavif\x00\x00\x00\x00",
    "application/pdf": b"%PDF-1.7\n%\xe2\xe3\n",
    "application/zip": b"PK\x03\x04rest",
    "image/svg+xml": b"\xef\xbb\xbf<?xml version='1.0'?><svg xmlns='http://www.w3.org/2000/svg'/>",
    "text/plain": "Prüfbericht, 25 µm".encode(),
}


@pytest.mark.parametrize("kind", MADE)
@pytest.mark.parametrize("name", ["crate.jpg", "report.pdf", "x", ""])
def test_the_kind_is_told_from_the_bytes_whatever_the_name(kind: str, name: str) -> None:
    assert media_type(MADE[kind], name) == kind


def test_of_texts_the_name_tells_a_table() -> None:
    assert media_type(b"a,b\n1,2\n", "Values.CSV") == "text/csv"
    assert media_type(b"a,b\n1,2\n", "values.txt") == "text/plain"


@pytest.mark.parametrize(
    "content",
    [
        b"MZ\x90\x00",
        b"\xff\xfeh\x00i\x00",
        b"a\x00b",
        b"\x1b[31mred",
        b"\x00\x00\x00\x18ftypisom",
        b"RIFF\x00\x00\x00\x00WAVE",
    ],
)
def test_what_is_none_of_them_is_not_guessed(content: bytes) -> None:
    assert media_type(content, "photo.jpg") is None


def test_every_kind_has_a_name_and_an_ending() -> None:
    assert set(MADE) | {"text/csv"} == set(CALLED) == set(ENDINGS)


@pytest.mark.parametrize(
    ("name", "kind", "expected"),
    [
        ("crate.JPG", "image/jpeg", "crate.JPG"),
        ("crate", "image/jpeg", "crate.jpg"),
        ("crate.exe", "application/pdf", "crate.exe.pdf"),
        ("x.tsv", "text/csv", "x.tsv"),
        ("odd", "model/stl", "odd"),
    ],
)
def test_a_name_gets_the_ending_of_its_kind(name: str, kind: str, expected: str) -> None:
    assert named(name, kind) == expected


@pytest.mark.parametrize(
    ("way", "size", "degrees"), [(1, (40, 20), 0), (3, (40, 20), 180), (6, (20, 40), 90), (8, (20, 40), 270)]
)
def test_a_picture_is_as_large_as_it_stands_upright(way: int, size: tuple[int, int], degrees: int) -> None:
    found = picture_facts(turned(way), "image/jpeg")
    assert found == PictureFacts(*size, degrees, "2026:11:02 09:30:00")


@pytest.mark.parametrize("kind", ["image/jpeg", "image/png", "image/webp"])
def test_a_picture_that_breaks_off_cannot_be_seen(kind: str) -> None:
    whole = MADE[kind]
    said = picture_facts(whole[: len(whole) // 2], kind)
    assert isinstance(said, str)
    assert said.startswith("is damaged")
    assert isinstance(picture_facts(whole, kind), PictureFacts)


def test_a_damaged_picture_is_told_whatever_the_page_engine_asked_of_the_library(monkeypatch) -> None:
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    said = picture_facts(MADE["image/png"][:60], "image/png")
    assert isinstance(said, str)
    assert ImageFile.LOAD_TRUNCATED_IMAGES is True


def test_a_picture_of_too_many_pixels_is_not_unpacked() -> None:
    head = MADE["image/png"].replace((40).to_bytes(4, "big"), (60_000).to_bytes(4, "big"), 1)
    said = picture_facts(head, "image/png")
    assert isinstance(said, str)


def test_what_is_no_picture_has_no_size() -> None:
    assert picture_facts(MADE["application/pdf"], "application/pdf") is None
    assert picture_facts(MADE["image/heic"], "image/heic") is None


@given(
    st.binary(max_size=64),
    st.sampled_from([b"", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"GIF89a", b"II*\x00"]),
)
def test_any_bytes_are_looked_at_without_harm(rest: bytes, start: bytes) -> None:
    content = start + rest
    kind = media_type(content, "x.csv")
    assert kind is None or kind in CALLED
    found = picture_facts(content, kind or "")
    assert found is None or isinstance(found, str | PictureFacts)
