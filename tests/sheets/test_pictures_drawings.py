"""Drawings stand for themselves: nothing in them runs, moves, or comes from elsewhere."""

from __future__ import annotations

from io import BytesIO

import pikepdf
import pytest

from traveler.definition.plan import StepKind
from traveler.sheets.pictures import usable, usable_drawing
from traveler.sheets.traveler import traveler_pdf

HEAD = "<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' viewBox='0 0 9 9'>"


MARKED = "<path marker-start='url(#m)' d='M0 0L9 9'/>"


def drawing(inside: str) -> bytes:
    return f"{HEAD}{inside}</svg>".encode()


@pytest.mark.parametrize(
    "inside",
    [
        "<rect width='5' height='5'/>",
        "<defs><g id='a'><rect width='5' height='5'/></g></defs><use href='#a'/><use xlink:href='#a'/>",
        "<defs><linearGradient id='g'/></defs><rect fill='url(#g)' style=\"stroke: url('#g')\"/>",
        "<style>rect { fill: url(#g) }</style><text>25 H7</text>",
        "<!-- script --><title>A bolt</title><desc>onload</desc>",
    ],
)
def test_what_stands_for_itself_is_taken(inside):
    made = usable_drawing(drawing(inside))
    assert isinstance(made, tuple), made
    assert made[1] == "image/svg+xml"


@pytest.mark.parametrize(
    ("inside", "said"),
    [
        ("<script>alert(1)</script>", "may run"),
        ("<foreignObject/>", "may run"),
        ("<rect onload='alert(1)'/>", "onload"),
        ("<g><animate attributeName='x'/></g>", "moves"),
        ("<set attributeName='x'/>", "moves"),
        ("<image href='a.png'/>", "another picture"),
        ("<image href='data:image/png;base64,AAAA'/>", "another picture"),
        ("<use href='other.svg#a'/>", "outside itself"),
        ("<use xlink:href='https://elsewhere.example/a.svg#a'/>", "outside itself"),
        ("<a href='https://elsewhere.example/'><rect/></a>", "outside itself"),
        ("<rect fill='url(other.svg#g)'/>", "outside itself"),
        ("<rect style='fill: URL( \"file:///etc/hostname\" )'/>", "outside itself"),
        ("<style>@import 'a.css';</style>", "elsewhere"),
        ("<style>@font-face { src: url(a.ttf) }</style>", "elsewhere"),
        ("<g xml:base='https://elsewhere.example/'/>", "outside itself"),
        ("<g>" * 80 + "</g>" * 80, "deep"),
        ("<rect/>" * 20_001, "more than"),
        ("<g id='a'><use href='#a'/></g>", "more than"),
        ("<g id='a'><use href='#b'/></g><g id='b'><use href='#a'/></g>", "more than"),
    ],
)
def test_what_runs_moves_comes_from_elsewhere_or_is_too_much_is_refused_with_a_reason(inside, said):
    made = usable_drawing(drawing(inside))
    assert isinstance(made, str)
    assert said in made


def test_a_few_lines_that_draw_millions_of_times_are_refused():
    levels = "".join(
        f"<g id='l{level}'>" + f"<use href='#l{level - 1}'/>" * 10 + "</g>" for level in range(1, 9)
    )
    made = usable_drawing(drawing(f"<defs><rect id='l0'/>{levels}</defs><use href='#l8'/>"))
    assert made == "draws more than 20,000 elements"


@pytest.mark.parametrize(
    "inside",
    [
        "<mask id='m'><rect mask='url(#m)' width='9' height='9'/></mask><rect mask='url(#m)' width='9'/>",
        f"<marker id='m'>{MARKED}</marker>{MARKED}",
        "<text x='1 2 3 q'>abc</text>",
        "<rect width='nan' height='5'/>",
    ],
)
def test_what_the_page_engine_cannot_draw_is_refused_before_it_spoils_a_sheet(inside):
    made = usable_drawing(drawing(inside))
    assert isinstance(made, str)
    assert made.startswith("cannot be drawn")


@pytest.mark.parametrize("box", ["a b c d", "0 0 9", "", "0,0"])
def test_a_drawing_whose_size_makes_no_sense_never_stops_the_tool(box):
    made = usable_drawing(f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='{box}'/>".encode())
    assert isinstance(made, tuple) or made.startswith("cannot be drawn")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"<svg><rect/></svg>", "is not an SVG"),
        (b"<html xmlns='http://www.w3.org/1999/xhtml'><svg/></html>", "is not an SVG"),
        (b"<!DOCTYPE svg [<!ENTITY a 'b'>]><svg xmlns='http://www.w3.org/2000/svg'>&a;</svg>", "entities"),
        (b"<?xml version='1.0' encoding='utf-7'?><svg xmlns='http://www.w3.org/2000/svg'/>", "damaged"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><g></svg>", "damaged"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'>" + b" " * 2_000_000 + b"</svg>", "bytes"),
    ],
)
def test_what_is_no_drawing_is_refused_with_a_reason(content, said):
    made = usable_drawing(content)
    assert isinstance(made, str)
    assert said in made


def test_a_text_with_a_character_that_the_fonts_lack_is_refused():
    assert usable(drawing("<text>軸</text>")) == "is written with 軸, which the shop's fonts lack"


def test_texts_of_a_drawing_are_set_in_the_shipped_fonts(plan_of, step, unit, settings, printed):
    content = drawing("<style>text { font-family: serif }</style><text font-family='serif'>25 H7</text>")
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it.", picture="a.svg"),))
    sheet = traveler_pdf(
        plan, unit, settings, printed, pictures=lambda name: content if name == "a.svg" else None
    )
    assert sheet.findings == ()
    with pikepdf.open(BytesIO(sheet.pdf)) as pdf:
        fonts = {
            str(item.BaseFont)
            for item in pdf.objects
            if isinstance(item, pikepdf.Dictionary) and "/BaseFont" in item
        }
    assert fonts
    assert all("Traveler" in font for font in fonts)
