"""Pictures in steps."""

from __future__ import annotations

from io import BytesIO

import pikepdf
import pytest
from PIL import Image

from traveler.definition.plan import StepKind
from traveler.sheets.pictures import MOST_BYTES, Album, usable
from traveler.sheets.traveler import traveler_pdf


def photo(kind: str, size: tuple[int, int] = (400, 300), orientation: int | None = None) -> bytes:
    out = BytesIO()
    exif = Image.Exif()
    if orientation is not None:
        exif[0x0112] = orientation
    Image.new("RGB", size, (90, 120, 150)).save(out, kind, exif=exif)
    return out.getvalue()


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (photo("PNG"), ""),
        (photo("JPEG"), ""),
        (b"<?xml version='1.0'?><svg xmlns='http://www.w3.org/2000/svg'/>", ""),
        (photo("GIF"), "neither"),
        (b"", "neither"),
        (b"\x89PNG\r\n\x1a\n" + b"0" * 200, "damaged"),
        (photo("PNG") + b"0" * MOST_BYTES, "at most"),
        (photo("PNG", (1, 1)), ""),
        (b"<!DOCTYPE svg [<!ENTITY a 'b'>]><svg xmlns='http://www.w3.org/2000/svg'>&a;</svg>", "entities"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><g></svg>", "damaged"),
    ],
)
def test_what_can_be_used_and_what_not(content, expected):
    made = usable(content)
    if expected:
        assert isinstance(made, str)
        assert expected in made
    else:
        assert isinstance(made, tuple)


def test_each_unusable_picture_is_told_with_its_step():
    album = Album(lambda name: None if name == "a.png" else b"GIF89a")
    assert album.picture("a.png", "10-1").source == ""
    assert album.picture("b.gif", "10-2").source == ""
    assert [(finding.code, finding.place.slot) for finding in album.findings] == [
        ("SHT002", "10-1"),
        ("SHT002", "10-2"),
    ]


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_photographs_are_printed_in_a_limited_size_with_words(kind, plan_of, step, unit, settings, printed):
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it.", picture="big photo é.png"),))
    sheet = traveler_pdf(
        plan,
        unit,
        settings,
        printed,
        pictures=lambda name: photo(kind, (3000, 4000)) if "big" in name else None,
    )
    assert sheet.printed, sheet.findings
    with pikepdf.open(BytesIO(sheet.pdf)) as pdf:
        sizes = [
            (int(item.Width), int(item.Height))
            for item in pdf.objects
            if isinstance(item, pikepdf.Stream) and item.get("/Subtype") == "/Image"
        ]
    assert len(sizes) == 1
    assert max(sizes[0]) <= 1400
    assert len(sheet.pdf) < 400_000


def test_a_photograph_taken_sideways_is_turned_upright(plan_of, step, unit, settings, printed):
    sideways = photo("JPEG", (400, 200), orientation=6)
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it.", picture="p.jpg"),))
    sheet = traveler_pdf(
        plan, unit, settings, printed, pictures=lambda name: sideways if name == "p.jpg" else None
    )
    with pikepdf.open(BytesIO(sheet.pdf)) as pdf:
        (image,) = [
            item
            for item in pdf.objects
            if isinstance(item, pikepdf.Stream) and item.get("/Subtype") == "/Image"
        ]
        assert (int(image.Width), int(image.Height)) == (200, 400)


def test_a_product_picture_stands_on_the_cover(plan_of, step, unit, settings, printed, reader):
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it."),))
    asked: list[str] = []

    def look(name: str) -> bytes | None:
        asked.append(name)
        return photo("PNG") if name == "test-stand.png" else None

    sheet = traveler_pdf(plan, unit, settings, printed, pictures=look)
    assert asked == ["test-stand.svg", "test-stand.png"]
    assert sheet.findings == ()
    with pikepdf.open(BytesIO(sheet.pdf)) as pdf:
        assert [
            item
            for item in pdf.objects
            if isinstance(item, pikepdf.Stream) and item.get("/Subtype") == "/Image"
        ]
