"""The QR code of every page of every sheet, as a phone over a bench meets it: turned, and stained."""

from __future__ import annotations

import random

import numpy as np
import pytest

from traveler.sheets.crate_papers import unit_label_pdf
from traveler.sheets.pdf import codes as qr

NAMES = (
    *(
        "traveler",
        "final-checklist",
        "crating-sheet",
        "certificate",
        "arrival-check",
        "packing-list",
        "record",
    ),
    *("unit-label", "crate-label"),
)
SERIAL = "BW8-2648-0012T"
DPI = 150
TURNED = 1.5
EDGE = 40
"""Pixels of table around a sheet."""
STAINED = 0.10
"""Part of the area of a symbol under a stain."""
ENOUGH = 0.8
FINDER = 8
"""Modules of a finder pattern with the white line around it."""


def zxing(pixels: np.ndarray) -> list[str]:
    import zxingcpp

    return [barcode.text for barcode in zxingcpp.read_barcodes(pixels) if barcode.format.name == "QRCode"]


def zbar(pixels: np.ndarray) -> list[str]:
    from pyzbar import pyzbar

    return [
        barcode.data.decode("ascii") for barcode in pyzbar.decode(pixels, symbols=[pyzbar.ZBarSymbol.QRCODE])
    ]


def turned(pixels: np.ndarray, degrees: float) -> np.ndarray:
    import cv2

    framed = cv2.copyMakeBorder(pixels, EDGE, EDGE, EDGE, EDGE, cv2.BORDER_CONSTANT, value=255)
    height, width = framed.shape
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1)
    return cv2.warpAffine(framed, turn, (width, height), flags=cv2.INTER_LINEAR, borderValue=255)


@pytest.mark.parametrize("name", NAMES)
def test_two_decoders_read_the_code_of_every_page_upright_and_turned(name, every_sheet):
    read = every_sheet(name)
    for number in range(len(read)):
        expected = [f"{SERIAL}/{number + 1}"]
        page = read.pixels(number, DPI)
        for pixels in (page, turned(page, TURNED), turned(page, -TURNED)):
            assert zxing(pixels) == expected
            assert zbar(pixels) == expected


def symbol(pixels: np.ndarray) -> tuple[np.ndarray, int, int]:
    """The symbol on a page with the white around it, the width of that white, and its side in pixels."""
    import cv2
    import zxingcpp

    pixels = cv2.copyMakeBorder(pixels, EDGE, EDGE, EDGE, EDGE, cv2.BORDER_CONSTANT, value=255)
    (found,) = [barcode for barcode in zxingcpp.read_barcodes(pixels) if barcode.format.name == "QRCode"]
    corners = found.position
    left, top = corners.top_left.x, corners.top_left.y
    side = corners.top_right.x - left
    around = side // 8
    cut = pixels[top - around : top + side + around, left - around : left + side + around]
    return np.ascontiguousarray(cut), around, side


def stain(chance: random.Random, modules: int) -> tuple[float, float, float, float]:
    """A stain of a tenth of the symbol, clear of its finder patterns: left, top, right, bottom in modules."""
    while True:
        shape = chance.uniform(0.5, 2)
        width, height = (STAINED * shape) ** 0.5 * modules, (STAINED / shape) ** 0.5 * modules
        left, top = chance.uniform(0, modules - width), chance.uniform(0, modules - height)
        first, last = FINDER, modules - FINDER
        near_left, near_right = left < first, left + width > last
        near_top, near_bottom = top < first, top + height > last
        if not ((near_top and (near_left or near_right)) or (near_bottom and near_left)):
            return left, top, left + width, top + height


def rates(page: np.ndarray, payload: str, trials: int, seed: int) -> tuple[float, float]:
    """In which part of so many random stains each decoder still reads the code of a page."""
    clean, around, side = symbol(page)
    modules = len(qr.matrix(payload))
    chance, hits = random.Random(seed), [0, 0]
    for number in range(trials):
        left, top, right, bottom = (round(around + part * side / modules) for part in stain(chance, modules))
        pixels = clean.copy()
        pixels[top:bottom, left:right] = 0 if number % 2 else 255  # ink, or the code rubbed off
        hits[0] += zxing(pixels) == [payload]
        hits[1] += zbar(pixels) == [payload]
    return hits[0] / trials, hits[1] / trials


@pytest.mark.parametrize("name", ["traveler", "unit-label", "crate-label"])
def test_four_in_five_stained_codes_are_read(name, every_sheet):
    assert min(rates(every_sheet(name).pixels(0, DPI), f"{SERIAL}/1", trials=40, seed=7)) >= ENOUGH


LINK = "HTTPS://ID.MMW.EXAMPLE/01/09506000134352/21/BW8-2648-0012T"


@pytest.mark.parametrize(
    ("base", "gtin", "payload"),
    [
        ("https://mmw.example/t", None, f"HTTPS://MMW.EXAMPLE/T/U/{SERIAL}/1"),
        ("https://id.mmw.example", "9506000134352", LINK),
    ],
)
def test_codes_with_an_address_are_read_turned_and_stained_too(
    base, gtin, payload, winder, unit, settings, printed, reader
):
    shop = settings.model_copy(update={"base_url": base})
    sheet = unit_label_pdf(winder.model_copy(update={"gtin": gtin}), unit, shop, printed)
    page = reader(sheet.pdf).pixels(0, DPI)
    for pixels in (page, turned(page, TURNED), turned(page, -TURNED)):
        assert zxing(pixels) == zbar(pixels) == [payload]
    assert min(rates(page, payload, trials=40, seed=7)) >= ENOUGH


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
def test_four_in_five_stained_codes_of_every_page_are_read(name, every_sheet):
    read = every_sheet(name)
    for page in range(len(read)):
        found = rates(read.pixels(page, DPI), f"{SERIAL}/{page + 1}", trials=400, seed=page)
        print(f"{name} page {page + 1}: zxing {found[0]:.3f}, zbar {found[1]:.3f}")
        assert min(found) >= ENOUGH
