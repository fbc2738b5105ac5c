"""QR codes: what they say, and that other people's decoders read it."""

from __future__ import annotations

import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.sheets.pdf import codes as qr

ALPHABET = "".join(sorted(qr.ALPHANUMERIC))


def drawn(payload: str, dpi: int = 150, side_mm: float = 20.0) -> np.ndarray:
    """The symbol with its quiet zone as gray pixels."""
    import cv2

    modules = np.pad(np.array([[module == "1" for module in row] for row in qr.matrix(payload)]), 4)
    size = round(side_mm / 25.4 * dpi * len(modules) / (len(modules) - 8))
    grey = np.where(modules, 0, 255).astype(np.uint8)
    return cv2.resize(grey, (size, size), interpolation=cv2.INTER_AREA)


def zxing(pixels: np.ndarray) -> list[str]:
    import zxingcpp

    return [barcode.text for barcode in zxingcpp.read_barcodes(pixels)]


def zbar(pixels: np.ndarray) -> list[str]:
    from pyzbar import pyzbar

    return [
        barcode.data.decode("ascii") for barcode in pyzbar.decode(pixels, symbols=[pyzbar.ZBarSymbol.QRCODE])
    ]


@pytest.mark.parametrize(
    ("base", "gtin", "expected"),
    [
        (None, None, "BW8-2648-0012T/3"),
        ("https://mmw.example/t", None, "HTTPS://MMW.EXAMPLE/T/U/BW8-2648-0012T/3"),
        ("https://mmw.example/t/", None, "HTTPS://MMW.EXAMPLE/T/U/BW8-2648-0012T/3"),
        (None, "9506000134352", "BW8-2648-0012T/3"),
        (
            "https://id.mmw.example",
            "9506000134352",
            "HTTPS://ID.MMW.EXAMPLE/01/09506000134352/21/BW8-2648-0012T",
        ),
    ],
)
def test_payloads(base, gtin, expected):
    address = qr.qr_address("bw8-2648-0012t", base, gtin)
    assert address.problem == ""
    assert address.payload(3) == expected


@pytest.mark.parametrize(
    ("base", "said"),
    [("https://a-long-name-of-a-shop.example/travelers", "45"), ("https://mmw.example/t?u=", "?")],
)
def test_an_address_that_does_not_fit_falls_back_to_the_serial_and_says_why(base, said):
    address = qr.qr_address("BW8-2648-0012T", base)
    assert said in address.problem
    assert address.payload(2) == "BW8-2648-0012T/2"


@settings(max_examples=25, deadline=None)
@given(st.text(ALPHABET, min_size=1, max_size=45).filter(lambda text: text == text.strip()))
def test_any_payload_is_read_back_by_both_decoders(payload):
    pixels = drawn(payload)
    assert zxing(pixels) == [payload]
    assert zbar(pixels) == [payload]


def test_a_digital_link_of_the_greatest_length_is_read_by_both_decoders():
    payload = "HTTPS://ID.MMW.EXAMPLE/01/09506000134352/21/".ljust(64, "7")
    assert len(qr.matrix(payload)) == 37
    assert zxing(drawn(payload)) == [payload]
    assert zbar(drawn(payload)) == [payload]


def test_a_turned_code_is_read():
    import cv2

    pixels = cv2.copyMakeBorder(drawn("BW8-2648-0012T/12"), 20, 20, 20, 20, cv2.BORDER_CONSTANT, value=255)
    height, width = pixels.shape
    for angle in (-1.5, 1.5):
        turn = cv2.getRotationMatrix2D((width / 2, height / 2), angle, 1)
        turned = cv2.warpAffine(pixels, turn, (width, height), flags=cv2.INTER_LINEAR, borderValue=255)
        assert zxing(turned) == ["BW8-2648-0012T/12"]
        assert zbar(turned) == ["BW8-2648-0012T/12"]


def test_four_in_five_blotted_codes_are_read():
    payload, chance, read = "BW8-2648-0012T/12", random.Random(7), 0
    for _ in range(40):
        pixels = drawn(payload, dpi=150)
        size, quiet = pixels.shape[0], round(pixels.shape[0] * 4 / 41)
        side = round((size - 2 * quiet) * 0.1**0.5)
        finder = quiet + round((size - 2 * quiet) * 8 / 33)
        while True:
            left, top = (
                chance.randrange(quiet, size - quiet - side),
                chance.randrange(quiet, size - quiet - side),
            )
            near_left, near_right = left < finder, left + side > size - finder
            near_top, near_bottom = top < finder, top + side > size - finder
            if not ((near_top and (near_left or near_right)) or (near_bottom and near_left)):
                break
        pixels[top : top + side, left : left + side] = 0
        read += zxing(pixels) == [payload]
    assert read >= 32


def test_the_symbol_has_one_size_up_to_forty_five_characters():
    assert {len(qr.matrix("A" * length)) for length in (1, 20, 45)} == {33}


def test_a_character_outside_the_mode_is_refused():
    with pytest.raises(ValueError, match="alphanumeric"):
        qr.matrix("bw8")


def test_runs_cover_exactly_the_dark_modules():
    modules = qr.matrix("BW8-2648-0012T/1")
    covered = {(column + step, row) for column, row, length in qr.runs(modules) for step in range(length)}
    assert covered == {(x, y) for y, line in enumerate(modules) for x, dark in enumerate(line) if dark == "1"}
