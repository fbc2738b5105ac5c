"""Many units in one file: in order, each on its own leaf, as they would look alone, without fields."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from io import BytesIO
from typing import Any

import numpy as np
import pikepdf
import pytest

from traveler.sheets.batch.collate import CollatedFile, object_references, renumbered
from traveler.sheets.batch.stamp import plain_template, taken_apart
from traveler.sheets.pdf.paper import A4
from traveler.sheets.pdf.postprocess import print_only
from traveler.sheets.sheet import UnitHeader
from traveler.sheets.templates import templates
from traveler.sheets.traveler import traveler_pdf

UNITS = [UnitHeader(f"TS1-2648-{number:04d}X", order="4471", issued="2026-11-25") for number in (7, 8, 9)]
OTHER = UnitHeader("TS1-2648-0010X", issued="2026-11-25")


def seen(content: bytes) -> list[np.ndarray]:
    """The pages at 150 dpi, filled fields drawn."""
    import pypdfium2

    document = pypdfium2.PdfDocument(content)
    document.init_forms()
    return [page.render(scale=150 / 72, grayscale=True).to_numpy().astype(np.int16) for page in document]


def text(content: bytes) -> list[str]:
    import pypdfium2

    return [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(content)]


@pytest.fixture(scope="module")
def rendering(plan_of, step, shop_settings, printed) -> Callable[[UnitHeader], Any]:
    from traveler.definition.plan import StepKind

    plan = plan_of(
        tuple(step("10", number, StepKind.DO, f"Do thing {number}.") for number in range(1, 5)),
        tuple(step("20", number, StepKind.FIT, f"Fit part {number}.") for number in range(1, 14)),
    )
    return partial(traveler_pdf, plan, settings=shop_settings, printed=printed)


@pytest.fixture(scope="module")
def flat(rendering) -> Callable[[UnitHeader], Any]:
    def render(unit: UnitHeader) -> Any:
        sheet = rendering(unit)
        return replace(sheet, pdf=print_only(sheet.pdf))

    return render


@pytest.fixture(scope="module")
def batch(flat, shop_settings) -> dict[bool, tuple[bytes, CollatedFile]]:
    """Three units of one kind, then one rendered by itself; simplex and duplex."""
    kind = taken_apart(flat, UNITS[0], shop_settings, None, templates())
    alone = plain_template(flat(OTHER), OTHER)
    made = {}
    for duplex in (False, True):
        out = BytesIO()
        into = CollatedFile(out, A4, "Travelers, µ", duplex)
        laid = into.lay(kind)
        for unit in UNITS:
            into.add(laid, unit.serial, kind.own(kind.texts(unit)))
        into.add(into.lay(alone), OTHER.serial, {})
        into.close()
        made[duplex] = out.getvalue(), into
    return made


def test_pages_of_every_unit_are_as_they_would_be_alone(batch, rendering) -> None:
    content, into = batch[False]
    pages, words = seen(content), text(content)
    assert [bundle.serial for bundle in into.bundles] == [unit.serial for unit in (*UNITS, OTHER)]
    for bundle, unit in zip(into.bundles, (*UNITS, OTHER), strict=True):
        alone = rendering(unit).pdf
        own = slice(bundle.start - 1, bundle.start - 1 + bundle.pages)
        assert words[own] == text(print_only(alone))
        for page, other in zip(pages[own], seen(alone), strict=True):
            assert np.abs(page - other).max() <= 1


def test_duplex_starts_every_unit_on_a_front_page_and_blank_backs_are_blank(batch) -> None:
    content, into = batch[True]
    pages, words = seen(content), text(content)
    assert len(pages) == into.pages == sum(bundle.pages for bundle in into.bundles)
    assert all(bundle.start % 2 == 1 and bundle.pages % 2 == 0 for bundle in into.bundles)
    simplex = batch[False][1].bundles
    assert simplex[0].pages % 2 == 1, "the plan should have an odd number of pages"
    for bundle, own in zip(into.bundles, simplex, strict=True):
        first = bundle.start - 1
        assert f"page 1 of {own.pages}" in words[first]
        assert f"page {own.pages} of {own.pages}" in words[first + own.pages - 1]
        blank = first + bundle.pages - 1
        assert words[blank] == ""
        assert pages[blank].min() == pages[blank].max() == 255
        assert pages[blank].shape == pages[first].shape


def test_every_page_keeps_its_own_code_and_the_file_has_bookmarks_but_no_fields(batch) -> None:
    import zxingcpp

    content, into = batch[False]
    read = [
        {barcode.text for barcode in zxingcpp.read_barcodes(page.astype(np.uint8))} for page in seen(content)
    ]
    wanted = [{f"{bundle.serial}/{page}"} for bundle in into.bundles for page in range(1, bundle.pages + 1)]
    assert read == wanted
    with pikepdf.open(BytesIO(content)) as pdf:
        assert pdf.check_pdf_syntax() == []
        assert "/AcroForm" not in pdf.Root
        assert not any("/Annots" in page for page in pdf.pages)
        with pdf.open_outline() as outline:
            assert [item.title for item in outline.root] == [bundle.serial for bundle in into.bundles]
        assert str(pdf.docinfo.Title) == "Travelers, µ"


def test_a_unit_more_adds_little_to_the_file(batch, flat) -> None:
    content, into = batch[False]
    with pikepdf.open(BytesIO(content)) as pdf:
        fonts = {font.DescendantFonts[0].FontDescriptor.FontFile2.objgen
                 for page in pdf.pages for font in page.Resources.Font.values()}  # fmt: skip
    assert len(fonts) == 2 * 3, "three faces of the kind that three units share, three of the one by itself"
    assert len(content) < 2 * len(flat(OTHER).pdf) + 3 * 5000 * into.bundles[0].pages


def test_references_are_renumbered_outside_strings_and_contents_alone() -> None:
    body = b"<< /A 1 0 R /B (see 2 0 R \\( too) /C [ 3 0 R 13 0 R ] >>\nstream\n4 0 R\nendstream"
    assert object_references(body) == {1, 3, 13}
    made = renumbered(body, {1: 7, 3: 8, 13: 9})
    assert made == b"<< /A 7 0 R /B (see 2 0 R \\( too) /C [ 8 0 R 9 0 R ] >>\nstream\n4 0 R\nendstream"
    with pytest.raises(KeyError):
        renumbered(body, {1: 7})
