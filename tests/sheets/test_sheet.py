"""The circumstances of a print."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.definition.plan import StepKind
from traveler.finding import Finding, Weight
from traveler.sheets.pdf.fonts import SANS, Space, font_face
from traveler.sheets.pdf.paper import A4, CORNER, LETTER, QR_SIDE
from traveler.sheets.sheet import Printing, Sheet
from traveler.sheets.templates import templates
from traveler.sheets.traveler import operations_pdf
from traveler.sheets.views.head import SERIAL_SIZES, serial_size
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


def test_long_names_are_cut_in_head_and_foot_and_nothing_leaves_its_place(
    plan_of, step, unit, settings, printed, reader, clean_pages
):
    long = (
        "Works for long and very long machines of every kind, in the valley behind the second hill, upstairs"
    )
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it."),), title=long, variant_title=long)
    shop = settings.model_copy(update={"name": long})
    sheet = operations_pdf(plan, replace(unit, order=long), shop, printed, ("10",), copy_number=12)
    read = reader(sheet.pdf)
    clean_pages(read, "A4")
    assert read.text().count("…") >= 4
    assert "copy 12" in read.text()


@pytest.mark.parametrize(
    ("text", "lines"), [("", 1), ("one", 1), ("one two three", 1), ("W" * 20, 3), ("short " + "W" * 20, 4)]
)
def test_lines_are_counted_as_they_will_be_broken(text, lines):
    space = Space(font_face(SANS, templates()), 9.5, 30, 2)
    assert space.needed(text) == lines


@given(st.text("aWi m", max_size=80))
def test_what_is_shortened_fits_and_starts_like_the_text(text):
    space = Space(font_face(SANS, templates()), 9.5, 30, 2)
    short = space.shortened(text)
    assert space.fits(short)
    assert short == text or text.startswith(short.removesuffix("…").rstrip())
