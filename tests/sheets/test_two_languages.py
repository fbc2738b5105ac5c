"""Two languages on one sheet: every text in both, every box and limit once; the tags tell which is which."""

from __future__ import annotations

import ctypes
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache, partial
from io import BytesIO
from typing import Any, get_args

import pikepdf
import pytest

from traveler.definition.expand import expand
from traveler.definition.fields import languages_of
from traveler.definition.load import load
from traveler.definition.model import Mark, definition_digest
from traveler.definition.plan import Plan
from traveler.sheets.crate_papers import crate_label_pdf, packing_list_pdf, unit_label_pdf
from traveler.sheets.pdf.postprocess import walk
from traveler.sheets.sheet import Sheet
from traveler.sheets.templates import templates
from traveler.sheets.traveler import operations_pdf, traveler_pdf
from traveler.sheets.words import (
    Bilingual,
    bilingual,
    first,
    known_languages,
    plain_text,
    second,
    seconds,
    why_not,
)

crating_pdf = partial(operations_pdf, numbers=("C",))
final_checklist_pdf = partial(operations_pdf, numbers=("Q",))

STOOL = """\
product: stool
title: {en: Weaver's stool, es: Taburete de tejedor}
revision: A
revised: 2026-01-05
change: {en: The seat is waxed., es: El asiento va encerado.}
approved_by: rhale
serials: {pattern: "WS{variant}-{yy}{ww}-{n:04}"}
variants:
  "2": {title: {en: Two legs, es: Dos patas}, legs: 2, mass: 31 kg}
positions:
  leg: {count: legs}
  end: [near, far]
names:
  leg: {en: leg, es: pata}
  near: {en: near, es: cerca}
  far: {en: far, es: lejos}
gauges:
  indicator: {title: {en: Dial indicator, es: Comparador}, resolution: 0.001 mm}
operations:
  - number: 10
    title: {en: Frame, es: Bastidor}
    area: {en: Bench 2, es: Banco 2}
    minutes: 20
    cautions:
      - WARNING: {en: Lift with two people., es: Levante entre dos personas.}
      - NOTICE: {en: Keep the floor dry., es: Mantenga seco el suelo.}
    steps:
      - do: {en: Screw on the legs., es: Atornille las patas.}
        note: {en: Hand tight., es: A mano.}
        parts: [{number: P-1, title: {en: Leg, es: Pata}, quantity: legs}]
      - fit: {en: Seat, es: Asiento}
        number: P-2
        trace: serial
      - measure: {en: Run-out, es: Descentramiento}
        id: runout
        at: [leg, end]
        limits: max 0.05 mm
        gauge: indicator
        adjust: {en: Turn the bush., es: Gire el casquillo.}
      - measure: {en: Height, es: Altura}
        id: height
        limits: 450 ± 2 mm
      - witness: {en: Guards fitted., es: Resguardos montados.}
        by: inspector
    sign: assembler
final_checks:
  - confirm: {en: No burrs felt., es: No se notan rebabas.}
crating:
  crate: {title: {en: Crate B, es: Cajón B}, inside: 600 × 450 × 120 mm, empty_mass: 2.0 kg}
  marks: [fragile, keep-dry]
  steps:
    - measure: {en: Gross mass, es: Masa bruta}
      limits: expected ± 0.4 kg
  packing_list:
    - {item: {en: Stool, es: Taburete}, mass: variant}
"""
BOTH = {
    "traveler": ["Atornille las patas.", "Turn the bush.", "ADVERTENCIA", "WARNING", "as found", "lejos"],
    "final checklist": ["Comprobaciones finales", "Final checks", "No burrs felt.", "No se notan rebabas."],
    "crating sheet": ["Embalaje", "Crating", "all packed", "todo embalado", "Taburete", "Stool"],
    "packing list": ["Lista de embalaje", "Packing list", "artículo", "item", "Cajón B", "Crate B"],
    "crate label": ["Taburete de tejedor", "masa bruta, prevista", "gross mass, expected", "Fragile"],
}  # fmt: skip
MAKERS: dict[str, Callable[..., Sheet]] = {
    "traveler": traveler_pdf, "final checklist": final_checklist_pdf, "crating sheet": crating_pdf,
    "packing list": packing_list_pdf, "crate label": crate_label_pdf, "unit label": unit_label_pdf,
}  # fmt: skip


MARKS = get_args(Mark)


@pytest.fixture(scope="module")
def plans() -> dict[str, Plan]:
    loaded = load(STOOL, "stool.yaml", lambda _: True)
    assert loaded.definition is not None, loaded.findings
    name = definition_digest(loaded.definition)
    return {literal: expand(loaded.definition, "2", name, literal) for literal in ("en", "es")}


@pytest.fixture(scope="module")
def printed_in(plans, unit, settings, printed) -> Callable[..., Sheet]:
    """A sheet of the stool in a language or two."""

    @cache
    def make(name: str, language: str, size: str = "A4") -> Sheet:
        shop = settings.model_copy(update={"page_size": size})
        texts = tuple(plans[code] for code in languages_of(language))
        sheet = MAKERS[name](plans["en"], unit, shop, printed, language=language, texts=texts)
        assert sheet.printed, [str(finding) for finding in sheet.findings]
        return sheet

    return make


@pytest.fixture(scope="module")
def text_of(reader) -> Callable[[Sheet], str]:
    return lambda sheet: " ".join(reader(sheet.pdf).text().split())


def elements(pdf: pikepdf.Pdf) -> Iterator[Any]:
    return walk(pdf.Root.StructTreeRoot.K[0])


@pytest.mark.parametrize("name", BOTH)
def test_every_text_stands_in_both_languages(name, printed_in, text_of):
    text = text_of(printed_in(name, "es+en"))
    assert [item for item in BOTH[name] if item not in text] == []


def test_the_other_way_round_the_other_language_comes_first(printed_in, text_of):
    text = text_of(printed_in("traveler", "en+es"))
    assert text.index("Screw on the legs.") < text.index("Atornille las patas.")
    text = text_of(printed_in("traveler", "es+en"))
    assert text.index("Atornille las patas.") < text.index("Screw on the legs.")


def test_boxes_are_those_of_one_language_and_tooltips_say_both(printed_in, reader):
    spanish, both = printed_in("traveler", "es"), printed_in("traveler", "es+en")
    assert Counter(box.name for box in reader(both.pdf).boxes()) == Counter(
        box.name for box in reader(spanish.pdf).boxes()
    )
    with pikepdf.open(BytesIO(both.pdf)) as pdf:
        tooltips = {str(field.T): str(field.TU) for field in pdf.Root.AcroForm.Fields}
    assert tooltips["10-1"] == "10-1 Atornille las patas. / 10-1 Screw on the legs."
    assert tooltips["10-3/leg=2,end=far"].endswith("leg 2, far") is False
    assert "pata 2, end lejos / " in tooltips["10-3/leg=2,end=far"]


def test_limits_stand_once(printed_in, text_of):
    text = text_of(printed_in("traveler", "es+en"))
    assert text.count("0.05 mm") == 1
    assert text.count("450 ± 2 mm") == 1
    assert "máx. 0.05 mm" in text


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_pages_are_as_clean_as_in_one_language(size, printed_in, reader, clean_pages):
    for name in BOTH:
        if name != "crate label":
            read = reader(printed_in(name, "es+en", size).pdf)
            clean_pages(read, size)
            assert min(character.size for character in read.characters()) >= 9.49


def test_the_second_language_is_named_in_the_tags(printed_in):
    with pikepdf.open(BytesIO(printed_in("traveler", "es+en").pdf)) as pdf:
        assert str(pdf.Root.Lang) == "es"
        found = [(str(element.S), str(element.Lang)) for element in elements(pdf) if "/Lang" in element]
        assert len(found) > 40
        assert set(found) == {("/Span", "en")}
        assert not any(element.S == "/Link" for element in elements(pdf))
    with pikepdf.open(BytesIO(printed_in("traveler", "es").pdf)) as pdf:
        assert not any("/Lang" in element for element in elements(pdf))


def shown_by_mark(reader: Any) -> dict[tuple[int, int], str]:
    """Page and number of a piece of marked content → the text it shows."""
    import pypdfium2

    raw = pypdfium2.raw
    found: dict[tuple[int, int], str] = {}
    for number, page in enumerate(reader.document):
        text = page.get_textpage()
        for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
            size = raw.FPDFTextObj_GetText(item, text, None, 0)
            buffer = ctypes.create_string_buffer(size)
            raw.FPDFTextObj_GetText(item, text, ctypes.cast(buffer, ctypes.POINTER(ctypes.c_ushort)), size)
            mark = raw.FPDFPageObj_GetMarkedContentID(item)
            if mark < 0:  # head and foot are artifacts, which no reader is told
                continue
            place = (number, mark)
            found[place] = found.get(place, "") + buffer.raw.decode("utf-16-le").rstrip("\x00")
    return found


def test_what_is_marked_is_english_and_what_is_not_is_not(printed_in, reader):
    sheet = printed_in("final checklist", "es+en")
    shown = shown_by_mark(reader(sheet.pdf))
    with pikepdf.open(BytesIO(sheet.pdf)) as pdf:
        pages = {page.obj.objgen: number for number, page in enumerate(pdf.pages)}
        marked = {
            (pages[element.Pg.objgen], int(mark))
            for element in elements(pdf)
            if element.get("/Lang") == "en"
            for mark in element.K
            if isinstance(mark, int)
        }
    english = " ".join(text for place, text in shown.items() if place in marked)
    others = " ".join(text for place, text in shown.items() if place not in marked)
    for text in ("Final checks", "No burrs felt.", "Weaver's stool"):
        assert text in english
        assert text not in others
    for text in ("Comprobaciones finales", "No se notan rebabas.", "Taburete de tejedor"):
        assert text in others
        assert text not in english


def test_the_label_of_a_unit_has_room_for_one(printed_in, text_of):
    text = text_of(printed_in("unit label", "es+en"))
    assert "Taburete de tejedor" in text
    assert "stool" not in text


def test_the_same_print_gives_the_same_bytes(plans, unit, settings, printed, printed_in):
    again = traveler_pdf(
        plans["en"], unit, settings, printed, language="es+en", texts=(plans["es"], plans["en"])
    )
    assert again.pdf == printed_in("traveler", "es+en").pdf


def test_a_text_that_is_the_same_in_both_stands_once():
    assert bilingual("Bench 2", "Bench 2", "en") == "Bench 2"
    assert not isinstance(bilingual("a", "a", "en"), Bilingual)
    both = bilingual("Banco <2>", "Bench & 2", "en")
    assert (first(both), plain_text(both)) == ("Banco <2>", "Banco <2> / Bench & 2")
    assert second(both) == '<a class="second" lang="en">Bench &amp; 2</a>'
    assert (first("x"), second("x"), seconds(["x", both])) == ("x", "", (second(both),))
    assert isinstance(both, Bilingual)
    assert both.__html__().startswith("Banco &lt;2&gt; <a")


def test_languages_are_known_by_their_catalogues(tmp_path):
    assert known_languages(templates()) == ("en", "es")
    assert why_not("es", templates()) is None
    assert why_not("es+en", templates()) is None
    assert "'fr'" in str(why_not("es+fr", templates()))
    assert "twice" in str(why_not("es+es", templates()))
    own = tmp_path / "templates" / "locale" / "de" / "LC_MESSAGES"
    own.mkdir(parents=True)
    (own / "sheets.po").write_text('msgid ""\nmsgstr ""\n', encoding="utf-8")
    assert why_not("de", templates(tmp_path)) is None
    assert "at most 2" in str(why_not("de+en+es", templates(tmp_path)))


@pytest.mark.parametrize("size", ["100x150 mm", "4x6 in"])
@pytest.mark.parametrize("marks", [0, 4, 6, 8, 12, 17])
def test_a_crate_label_is_one_page_with_one_code(marks, size, plans, unit, settings, printed):
    texts = [plans[literal].model_copy(update={"marks": MARKS[:marks]}) for literal in ("es", "en")]
    face = replace(unit, customer="Aldermoor Weavers and Ropemakers, Weft Street 12")
    sheet = crate_label_pdf(
        texts[1], face, settings, printed, size=size, language="es+en", texts=texts,
        outside="1200 × 900 × 700 mm", gross_mass="35.10 kg",
    )  # fmt: skip
    assert (sheet.pages, sheet.findings) == (1, ())
    with pikepdf.open(BytesIO(sheet.pdf)) as pdf:
        figures = [str(element.Alt) for element in elements(pdf) if element.S == "/Figure"]
    assert sum("QR" in figure for figure in figures) == 1
    assert len(figures) == marks + 1
