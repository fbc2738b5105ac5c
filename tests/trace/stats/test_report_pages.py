"""The report on paper and on screen: complete, legible, and self-contained."""

from __future__ import annotations

import io
import re
from html.parser import HTMLParser

import pikepdf
import pytest

from traveler.sheets.sheet import Printing
from traveler.sheets.templates import templates
from traveler.trace.stats.report_pages import report_html, report_pdf


@pytest.fixture(scope="module")
def printing(year):
    return Printing(year.shop.settings, year.now, templates=templates(year.shop.folder))


@pytest.fixture(scope="module")
def printed(report_of, printing):
    sheet, drawn = report_pdf(report_of("brake"), printing)
    assert sheet.findings == ()
    assert sheet.printed
    return sheet, drawn


@pytest.fixture(scope="module")
def pdf(printed):
    return printed[0].pdf


def text_of(pdf: bytes) -> str:
    import pypdf

    return " ".join(" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def test_the_pdf_says_everything_that_is_said(report_of, printing, pdf):
    said = text_of(pdf).replace(" ", "")  # a line may end at a hyphen
    for check_series in report_of("brake").series:
        for _, sentence in check_series.sentences():
            assert sentence.replace(" ", "") in said
    assert "Statistics of skein-reel, check brake".replace(" ", "") in said
    assert "MarrowbyMachineWorks" in said


def test_the_pdf_is_tagged_titled_and_has_its_fonts(pdf):
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        assert opened.Root.MarkInfo.Marked
        assert str(opened.Root.Lang) == "en"
        assert str(opened.docinfo["/Title"]) == "Statistics of skein-reel, check brake"
        for page in opened.pages:
            for font in (page.Resources.get("/Font") or {}).values():
                inner = font.DescendantFonts[0] if "/DescendantFonts" in font else font
                assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(inner.FontDescriptor.keys())


def test_every_picture_of_the_pdf_has_words(pdf, printed):
    _, drawn = printed
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        figures = [item for item in structure(opened.Root.StructTreeRoot) if item.get("/S") == "/Figure"]
        words = sorted(str(figure.Alt) for figure in figures)
    assert words == sorted(value.picture.description for value in drawn)


def structure(node):
    children = node.get("/K")
    if children is None:
        return
    for child in children if isinstance(children, pikepdf.Array) else [children]:
        if isinstance(child, pikepdf.Dictionary):
            yield child
            yield from structure(child)


def test_no_text_of_the_pdf_is_below_the_smallest_of_a_shop_sheet(pdf):
    import pypdfium2

    sizes = set()
    for page in pypdfium2.PdfDocument(pdf):
        for text in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_TEXT]):
            sizes.add(round(text.get_font_size() * abs(text.get_matrix().get()[3]), 2))
    assert len(sizes) > 2
    assert min(sizes) >= 9.5


def test_the_same_report_has_the_same_bytes(report_of, printing, pdf):
    assert report_pdf(report_of("brake"), printing)[0].pdf == pdf


class Page(HTMLParser):
    """Addresses and alternative texts of an HTML page."""

    def __init__(self):
        super().__init__()
        self.sources, self.words, self.links = [], [], []

    def handle_starttag(self, tag, attrs):
        told = dict(attrs)
        if tag == "img":
            self.sources.append(told["src"])
            self.words.append(told["alt"])
        self.links += [told[name] for name in ("href", "action") if name in told]


def test_the_html_needs_nothing_else(report_of, printing):
    html, drawn = report_html(report_of("brake"), printing)
    text = html.decode()
    page = Page()
    page.feed(text)
    assert len(page.sources) == len(drawn) > 0
    assert all(source.startswith("data:image/svg+xml;base64,") for source in page.sources)
    assert page.words == [value.picture.description for value in drawn]
    assert page.links == []
    assert not re.search(r"url\(|@import|<script|https?://", text)


def test_the_product_page_lists_every_series_once(report_of, printing):
    sheet, _ = report_pdf(report_of(), printing)
    said = text_of(sheet.pdf)
    assert sheet.printed
    for check_series in report_of().series:
        assert check_series.worst().split()[-1] in said
    assert "Rolled throughput yield" in said


def test_a_report_without_a_reading_is_still_a_page(report_of, printing, year):
    report = report_of("brake", since=year.now)
    sheet, drawn = report_pdf(report, printing)
    assert sheet.printed
    assert drawn == []
    assert "No reading counts yet." in text_of(sheet.pdf)
