"""The QR code of every page of every sheet, as a phone over a bench meets it: turned, and stained."""

from __future__ import annotations

import random

import cv2
import numpy as np
import pytest
import zxingcpp
from pyzbar import pyzbar

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
STAINED = 0.10
"""Part of the area of a symbol under a stain."""
ENOUGH = 0.8
FINDER = 8
"""Modules of a finder pattern with the white line around it."""


def zxing(pixels: np.ndarray) -> list[str]:
    return [one.text for one in zxingcpp.read_barcodes(pixels) if one.format.name == "QRCode"]


def zbar(pixels: np.ndarray) -> list[str]:
    return [one.data.decode("ascii") for one in pyzbar.decode(pixels, symbols=[pyzbar.ZBarSymbol.QRCODE])]


def turned(pixels: np.ndarray, degrees: float) -> np.ndarray:
    edge = 40
    framed = cv2.copyMakeBorder(pixels, edge, edge, edge, edge, cv2.BORDER_CONSTANT, value=255)
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


def symbol(every_sheet, name: str, page: int) -> tuple[np.ndarray, tuple[int, int, int], int]:
    """The symbol of a page with the white around it, its left, top and side in pixels, its modules a side."""
    pixels = every_sheet(name).pixels(page, DPI)
    (found,) = [one for one in zxingcpp.read_barcodes(pixels) if one.format.name == "QRCode"]
    corners = found.position
    left, top = corners.top_left.x, corners.top_left.y
    side = corners.top_right.x - left
    around = side // 8
    cut = pixels[top - around : top + side + around, left - around : left + side + around]
    return np.ascontiguousarray(cut), (around, around, side), 33


def stain(chance: random.Random, modules: int, dark: bool) -> tuple[float, float, float, float]:
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


def rates(every_sheet, name: str, page: int, trials: int, seed: int) -> tuple[float, float]:
    """In which part of so many random stains each decoder still reads the code."""
    clean, (left, top, side), modules = symbol(every_sheet, name, page)
    chance, hits = random.Random(seed), [0, 0]
    for number in range(trials):
        dark = number % 2 == 0
        place = [part * side / modules for part in stain(chance, modules, dark)]
        pixels = clean.copy()
        columns = slice(round(left + place[0]), round(left + place[2]))
        rows = slice(round(top + place[1]), round(top + place[3]))
        pixels[rows, columns] = 0 if dark else 255
        expected = [f"{SERIAL}/{page + 1}"]
        hits[0] += zxing(pixels) == expected
        hits[1] += zbar(pixels) == expected
    return hits[0] / trials, hits[1] / trials


@pytest.mark.parametrize("name", ["traveler", "unit-label", "crate-label"])
def test_four_in_five_stained_codes_are_read(name, every_sheet):
    zxing_rate, zbar_rate = rates(every_sheet, name, 0, trials=40, seed=7)
    assert zxing_rate >= ENOUGH
    assert zbar_rate >= ENOUGH


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
def test_four_in_five_stained_codes_of_every_page_are_read(name, every_sheet):
    for page in range(len(every_sheet(name))):
        found = rates(every_sheet, name, page, trials=400, seed=page)
        print(f"{name} page {page + 1}: zxing {found[0]:.3f}, zbar {found[1]:.3f}")
        assert min(found) >= ENOUGH
