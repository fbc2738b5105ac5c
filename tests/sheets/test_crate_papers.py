"""Labels: sizes, codes, handling marks."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from typing import get_args

import pikepdf
import pytest

from traveler.definition.model import Mark
from traveler.sheets.crate_papers import crate_label_pdf, label_size, mark_words, unit_label_pdf
from traveler.sheets.pdf.paper import POINTS_PER_MM
from traveler.sheets.templates import templates
from traveler.sheets.words import words


def clean(read, *, margin_mm: float) -> None:
    width, height = read.document[0].get_size()
    for character in read.characters():
        assert margin_mm * POINTS_PER_MM <= character.left, character
        assert character.right <= width - margin_mm * POINTS_PER_MM, character
        assert margin_mm * POINTS_PER_MM <= character.bottom, character
        assert character.top <= height - margin_mm * POINTS_PER_MM, character


@pytest.mark.parametrize("serial", ["A1", "BW8-2648-0012T", "LONGSERIAL-2648-0012-X7"])
def test_the_unit_label_fits_fifty_by_twenty_five_and_is_read(
    serial, winder, unit, settings, printed, reader
):
    import zxingcpp
    from pyzbar import pyzbar

    sheet = unit_label_pdf(winder, replace(unit, serial=serial), settings, printed)
    assert sheet.printed, sheet.findings
    assert sheet.pages == 1
    read = reader(sheet.pdf)
    assert read.document[0].get_size() == pytest.approx((50 * POINTS_PER_MM, 25 * POINTS_PER_MM), abs=0.1)
    assert serial in read.text()
    clean(read, margin_mm=0.7)
    pixels = read.pixels(0, dpi=203)  # label printers
    assert [barcode.text for barcode in zxingcpp.read_barcodes(pixels)] == [f"{serial}/1"]
    assert [barcode.data.decode() for barcode in pyzbar.decode(pixels)] == [f"{serial}/1"]


@pytest.mark.parametrize(("size", "width", "height"), [("100x150 mm", 100, 150), ("4x6 in", 101.6, 152.4)])
def test_the_crate_label_says_what_a_carrier_asks(
    size, width, height, winder, unit, settings, printed, reader
):
    import zxingcpp

    sheet = crate_label_pdf(
        winder, unit, settings, printed, gross_mass="93.2 kg", outside="980 × 670 × 660 mm", size=size
    )
    assert sheet.printed, sheet.findings
    assert sheet.pages == 1
    read = reader(sheet.pdf)
    assert read.document[0].get_size() == pytest.approx(
        (width * POINTS_PER_MM, height * POINTS_PER_MM), abs=0.1
    )
    clean(read, margin_mm=2)
    text = " ".join(read.text().split())
    for expected in (
        "BW8-2648-0012T", "Bench bobbin winder", "gross mass 93.2 kg", "outside size 980 × 670 × 660 mm",
        "inside size 920 × 610 × 540 mm", "order 4471", "This way up", "Fragile", "Keep dry",
            "Center of gravity",
    ):  # fmt: skip
        assert expected in text
    assert [barcode.text for barcode in zxingcpp.read_barcodes(read.pixels(0))] == ["BW8-2648-0012T/1"]


def test_every_handling_mark_has_a_drawing_and_words(winder, unit, settings, printed, reader):
    marks = get_args(Mark)
    assert len(marks) == 17
    sheet = crate_label_pdf(winder.model_copy(update={"marks": marks}), unit, settings, printed)
    assert sheet.printed, sheet.findings
    assert sheet.pages == 1
    text = " ".join(reader(sheet.pdf).text().split())
    for mark in marks:
        assert mark_words(mark, words("en", templates())) in text
    with pikepdf.open(BytesIO(sheet.pdf)) as pdf:
        figures = [
            item
            for item in pdf.objects
            if isinstance(item, pikepdf.Dictionary) and item.get("/S") == "/Figure"
        ]
    assert len(figures) == 18
    clean(reader(sheet.pdf), margin_mm=2)


@pytest.mark.parametrize("count", [0, 1, 3, 5, 6, 8, 12, 13])
def test_any_number_of_marks_stays_on_one_label(count, winder, unit, settings, printed, reader):
    plan = winder.model_copy(
        update={"marks": get_args(Mark)[:count], "title": "Bench bobbin winder, long name"}
    )
    face = replace(unit, customer="Hollin Weavers, Upper Mill")
    sheet = crate_label_pdf(plan, face, settings, printed, outside="980 × 670 × 660 mm")
    assert sheet.pages == 1
    clean(reader(sheet.pdf), margin_mm=2)


@pytest.mark.parametrize("serial", ["A", "BW8-2648-0012T", "X" * 40])
def test_a_serial_is_as_large_as_its_width_allows(serial):
    size = label_size(serial, 92)
    assert 0 < size <= 30
    assert len(serial) * 0.602 * size * 25.4 / 72 <= 92 + 0.01
