"""The circumstances of a print."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from traveler.finding import Finding, Weight
from traveler.sheets.head_view import SERIAL_SIZES, serial_size
from traveler.sheets.paper import A4, CORNER, LETTER, QR_SIDE
from traveler.sheets.sheet import Printing, Sheet
from traveler.shop.settings import Settings


def test_the_day_of_printing_is_that_of_the_shop():
    settings = Settings(name="Shop", time_zone="Pacific/Auckland")
    assert Printing(settings, datetime(2026, 11, 25, 23, 0, tzinfo=UTC)).day == "2026-11-26"


def test_a_language_given_wins_over_the_shops():
    settings = Settings(name="Shop", language="es")
    now = datetime(2026, 11, 25, tzinfo=UTC)
    assert Printing(settings, now).spoken == "es"
    assert Printing(settings, now, language="en").spoken == "en"


@pytest.mark.parametrize(
    ("pdf", "weight", "printed"),
    [(b"%PDF", Weight.WARNING, True), (b"%PDF", Weight.BLOCKING, False), (b"", Weight.WARNING, False)],
)
def test_a_sheet_is_printed_when_nothing_blocks_it(pdf, weight, printed):
    assert Sheet(pdf, (Finding("SHT002", "x", weight=weight),)).printed is printed


@pytest.mark.parametrize("length", range(1, 41))
def test_a_serial_fits_between_product_and_code(length):
    free = 178 - 55 - 27
    assert length * 0.602 * serial_size("X" * length) * 25.4 / 72 <= free or length > SERIAL_SIZES[-1][0]


@pytest.mark.parametrize("paper", [A4, LETTER])
def test_the_code_keeps_four_modules_away_from_its_corner_mark(paper):
    code, mark = paper.qr(), paper.corners()[1]
    assert mark.left - (code.left + code.side) >= 4 * QR_SIDE / 33
    for corner in paper.corners():
        assert corner.left >= 5
        assert corner.top >= 5
        assert corner.left + CORNER <= paper.width - 5
        assert corner.top + CORNER <= paper.height - 5
