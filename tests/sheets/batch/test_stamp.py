"""A stamped sheet is what a render would have given; where it would not be, nothing is stamped."""

from __future__ import annotations

import random
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest

from traveler.definition.expand import expand
from traveler.definition.load import load
from traveler.definition.model import definition_digest
from traveler.definition.plan import Plan
from traveler.sheets.batch.compare import pdf_difference
from traveler.sheets.batch.placeholders import NotStampable
from traveler.sheets.batch.stamp import (
    PLACEHOLDERS,
    Master,
    StampTemplate,
    master,
    placeholder_header,
    taken_apart,
)
from traveler.sheets.crate_papers import packing_list_pdf
from traveler.sheets.sheet import UnitHeader
from traveler.sheets.templates import shipped_folder, templates
from traveler.sheets.traveler import operations_pdf, traveler_pdf

crating_pdf = partial(operations_pdf, numbers=("C",))
final_checklist_pdf = partial(operations_pdf, numbers=("Q",))

ROOT = Path(__file__).resolve().parents[3]
STOOL = ROOT / "tests" / "world" / "product_defs" / "step-stool.yaml"
WINDER = ROOT / "product_defs" / "bobbin-winder.yaml"
WHEEL = ROOT / "product_defs" / "potters-wheel.yaml"


def stamping_fault(template, render, unit):
    """Where the stamped sheet of a unit differs from its rendered one; None where they are the same."""
    return pdf_difference(master(template).stamped(unit).pdf, render(unit).pdf)


def planned(file: Path, variant: str | None = None) -> Plan:
    loaded = load(file.read_text(encoding="utf-8"), str(file), lambda _: True)
    definition = loaded.definition
    assert definition is not None, loaded.findings
    return expand(definition, variant or next(iter(definition.variants)), definition_digest(definition))


@pytest.fixture(scope="module")
def stool() -> Plan:
    return planned(STOOL)


@pytest.fixture(scope="module")
def rendering(stool: Plan, shop_settings: Any, printed: Any) -> Callable[..., Any]:
    """Renders the stool's traveler; more says how."""
    return partial(traveler_pdf, stool, settings=shop_settings, printed=printed)


def kind_from(
    render: Callable[[UnitHeader], Any], unit: UnitHeader, settings: Any, **more: Any
) -> StampTemplate:
    return taken_apart(render, unit, settings, more.get("gtin"), more.get("templates") or templates())


def faces(count: int, seed: int = 1) -> list[UnitHeader]:
    """Units with serials, orders and dates that have nothing but their lengths in common."""
    draw = random.Random(seed)
    letters = "ABCDEFGHJKLMNPQRSTUVWXYZ0123456789"

    def text(length: int) -> str:
        return "".join(draw.choice(letters) for _ in range(length))

    return [
        UnitHeader(
            serial=f"{text(3)}-{text(4)}-{text(5)}",
            order=f"{text(2)}/{text(4)}".lower(),
            due=f"20{draw.randint(27, 39)}-{draw.randint(10, 12)}-{draw.randint(10, 28)}",
            issued=f"2026-{draw.randint(10, 12)}-{draw.randint(10, 28)}",
        )
        for _ in range(count)
    ]


@pytest.fixture(scope="module")
def stamp(rendering, shop_settings) -> Master:
    """The master of the kind that :func:`faces` are of."""
    return master(kind_from(rendering, faces(1)[0], shop_settings))


@pytest.fixture(scope="module")
def content(rendering) -> bytes:
    """One rendered traveler."""
    return bytes(rendering(faces(1)[0]).pdf)


def pixels(content: bytes) -> list[np.ndarray]:
    import pypdfium2

    document = pypdfium2.PdfDocument(content)
    document.init_forms()
    return [
        page.render(scale=150 / 72, grayscale=True, may_draw_forms=True).to_numpy().astype(np.int16)
        for page in document
    ]


def texts(content: bytes) -> list[tuple[str, str]]:
    import pypdf
    import pypdfium2

    by_pypdf = [page.extract_text() for page in pypdf.PdfReader(BytesIO(content)).pages]
    by_pdfium = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(content)]
    return list(zip(by_pypdf, by_pdfium, strict=True))


def fields(pdf: pikepdf.Pdf) -> list[tuple[object, ...]]:
    """Names, values, tooltips, flags, lengths, and where each is on which page."""
    found = []
    for number, page in enumerate(pdf.pages):
        for widget in page.get("/Annots", ()):
            field = widget if "/T" in widget else widget.Parent
            facts = [str(field.get(key)) for key in ("/T", "/V", "/TU", "/Ff", "/FT", "/MaxLen", "/DA")]
            states = widget.AP.N
            looks = [states.read_bytes()] if isinstance(states, pikepdf.Stream) else sorted(map(str, states))
            found.append((number, *facts, [float(edge) for edge in widget.Rect], looks))
    return found


def tags(element: Any) -> list[object]:
    """The structure tree below an element: what each is, its words, attributes, and what it holds."""
    held = element.get("/K", ())
    kids = held if isinstance(held, pikepdf.Array) else [held]
    facts = [str(element.get(key)) for key in ("/S", "/Alt", "/E", "/ActualText", "/Lang", "/ID")]
    inside = [
        tags(kid) if isinstance(kid, pikepdf.Dictionary) and "/S" in kid else _leaf(kid) for kid in kids
    ]
    return [*facts, inside]


def _leaf(kid: object) -> object:
    return int(kid) if isinstance(kid, int) else str(kid.get("/Type"))  # type: ignore[attr-defined]


def said(pdf: pikepdf.Pdf) -> dict[str, object]:
    """All that the file says about itself, and what is attached."""
    with pdf.open_outline() as outline:
        bookmarks = [[item.title, *(kid.title for kid in item.children)] for item in outline.root]
    return {
        "info": {key: str(value) for key, value in pdf.docinfo.items()},
        "xmp": pdf.Root.Metadata.read_bytes(),
        "bookmarks": bookmarks,
        "attached": {
            name: attachment.get_file().read_bytes() for name, attachment in pdf.attachments.items()
        },
        "language": str(pdf.Root.Lang),
    }


def assert_same(stamped: bytes, rendered: bytes) -> None:
    """Same pixels, text, fields, tags, bookmarks and attachments, in two files without a fault."""
    assert pdf_difference(stamped, rendered) is None
    for pixel, other in zip(pixels(stamped), pixels(rendered), strict=True):
        assert np.abs(pixel - other).max() <= 1
    assert texts(stamped) == texts(rendered)
    with pikepdf.open(BytesIO(stamped)) as first, pikepdf.open(BytesIO(rendered)) as second:
        assert fields(first) == fields(second)
        assert tags(first.Root.StructTreeRoot.K[0]) == tags(second.Root.StructTreeRoot.K[0])
        assert said(first) == said(second)
        assert first.check_pdf_syntax() == []


def assert_own_alone(content: bytes) -> None:
    """No placeholder, and no earlier state of the file, is left in it."""
    assert content.count(b"%%EOF") == content.count(b"startxref") == 1
    with pikepdf.open(BytesIO(content)) as pdf:
        whole = b"".join(
            item.read_raw_bytes() if item.get("/Subtype") == "/Image" else item.read_bytes()
            for item in pdf.objects
            if isinstance(item, pikepdf.Stream)
        )
        strings = repr(pdf.docinfo) + "".join(row[2] for row in fields(pdf))
    for placeholder in PLACEHOLDERS.values():
        assert placeholder[:6].encode() not in whole
        assert placeholder[:6] not in strings


def test_three_stamped_travelers_are_what_a_render_gives(rendering, stamp) -> None:
    import pypdfium2

    for unit in faces(4)[1:]:
        made = stamp.stamped(unit)
        assert_same(made.pdf, rendering(unit).pdf)
        assert_own_alone(made.pdf)
        assert made.pages == len(pypdfium2.PdfDocument(made.pdf))


def test_the_same_unit_gives_the_same_bytes_and_another_one_another_identifier(
    rendering, stamp, shop_settings
) -> None:
    import pypdf

    first, other = faces(2)
    again = master(kind_from(rendering, other, shop_settings))
    assert stamp.stamped(first).pdf == stamp.stamped(first).pdf == again.stamped(first).pdf
    identifiers = {
        pypdf.PdfReader(BytesIO(stamp.stamped(unit).pdf)).trailer["/ID"][0] for unit in (first, other)
    }
    assert len(identifiers) == 2


def test_every_page_of_a_stamped_traveler_has_the_units_own_code(stamp) -> None:
    import zxingcpp

    unit = faces(2)[1]
    shown = pixels(stamp.stamped(unit).pdf)
    read = [{barcode.text for barcode in zxingcpp.read_barcodes(page.astype(np.uint8))} for page in shown]
    assert read == [{f"{unit.serial}/{number}"} for number in range(1, len(read) + 1)]


def test_units_that_differ_in_serial_order_and_dates_alone_are_of_one_kind() -> None:
    units = faces(5)
    assert len({placeholder_header(unit) for unit in units}) == 1
    unlike = [
        replace(units[0], order=None), replace(units[0], order="4"), replace(units[0], due=None),
        replace(units[0], customer="Loam Studio"), replace(units[0], quantity=60),
        replace(units[0], serial=units[0].serial + "0"), replace(units[0], order="a much longer order"),
    ]  # fmt: skip
    assert len({placeholder_header(unit) for unit in (units[0], *unlike)}) == 8


def test_a_units_own_text_may_look_like_a_placeholder(rendering, stamp) -> None:
    unit = replace(faces(1)[0], due=PLACEHOLDERS["issued"], issued=PLACEHOLDERS["due"])
    assert pdf_difference(stamp.stamped(unit).pdf, rendering(unit).pdf) is None


def test_a_unit_of_another_kind_is_not_stamped(stamp) -> None:
    (unit,) = faces(1)
    with pytest.raises(ValueError, match="not of this kind"):
        stamp.stamped(replace(unit, order=None))


@pytest.mark.parametrize("unit", [UnitHeader("AB1"), UnitHeader("Ä" * 8), UnitHeader("A" * 40)])
def test_a_serial_that_cannot_be_met_with_surely_is_not_stamped(unit, rendering, shop_settings) -> None:
    with pytest.raises(NotStampable, match="length or the letters"):
        kind_from(rendering, unit, shop_settings)


def own_templates(folder: Path, name: str, old: str, new: str) -> Any:
    text = (shipped_folder() / name).read_text(encoding="utf-8")
    assert old in text
    file = folder / "templates" / name
    file.parent.mkdir(parents=True)
    file.write_text(text.replace(old, new), encoding="utf-8")
    return templates(folder)


@pytest.mark.parametrize(
    ("name", "old", "new", "why"),
    [
        ("sheets/page.css", 'bold 24pt "Traveler Mono"', 'bold 24pt "Traveler Sans"', "Traveler-Sans-Bold"),
        ("sheets/base.html", "{{ head.serial }}", '{{ head.serial }}<i title="{{ head.serial }}"></i>', None),
    ],
)
def test_a_shop_may_show_the_serial_elsewhere(
    name: str, old: str, new: str, why: str | None, tmp_path: Path, rendering, shop_settings
) -> None:
    shelves = own_templates(tmp_path, name, old, new)
    unit, other = faces(2)
    render = partial(rendering, templates=shelves)
    if why is None:
        assert (
            stamping_fault(kind_from(render, unit, shop_settings, templates=shelves), render, other) is None
        )
        return
    with pytest.raises(NotStampable, match=why):
        kind_from(render, unit, shop_settings, templates=shelves)


def test_a_template_that_takes_the_serial_apart_is_found_out(
    tmp_path: Path, rendering, shop_settings
) -> None:
    apart = "{{ head.serial[:4] }}<i>·</i>{{ head.serial[4:] }}"
    shelves = own_templates(tmp_path, "sheets/base.html", "{{ head.serial }}", apart)
    unit, other = faces(2)
    render = partial(rendering, templates=shelves)
    kind = kind_from(render, unit, shop_settings, templates=shelves)
    assert "/Contents" in (stamping_fault(kind, render, other) or "")


def test_a_finding_about_the_sheet_names_the_unit(stool: Plan, shop_settings, printed) -> None:
    far = replace_settings(shop_settings, base_url="https://travelers.marrowby.example/an/address/too/long")
    first, unit = faces(2)
    render = partial(traveler_pdf, stool, settings=far, printed=printed)
    made = master(kind_from(render, first, far)).stamped(unit)
    assert made.findings == render(unit).findings
    assert any(finding.code == "SHT004" and unit.serial in finding.what for finding in made.findings)


def replace_settings(settings: Any, **changes: object) -> Any:
    return settings.model_copy(update=changes)


SPOILT: dict[str, Callable[[pikepdf.Pdf], None]] = {
    "title": lambda pdf: pdf.docinfo.__setitem__("/Title", "Another"),
    "value": lambda pdf: setattr(pdf.Root.AcroForm.Fields[0], "V", pikepdf.String("Another")),
    "tooltip": lambda pdf: setattr(pdf.Root.AcroForm.Fields[-1], "TU", pikepdf.String("Another")),
    "drawing": lambda pdf: pdf.pages[-1].contents_add(b"0 0 1 1 re f"),
    "attachment": lambda pdf: pdf.attachments.__delitem__("plan.json"),
    "tag": lambda pdf: setattr(pdf.Root.StructTreeRoot.K[0].K[0], "S", pikepdf.Name.Sect),
    "pages": lambda pdf: pdf.pages.__delitem__(0),
    "language": lambda pdf: setattr(pdf.Root, "Lang", pikepdf.String("es")),
}


@pytest.mark.parametrize("what", SPOILT)
def test_the_comparison_sees_a_change_of(what: str, content: bytes) -> None:
    with pikepdf.open(BytesIO(content)) as pdf:
        SPOILT[what](pdf)
        out = BytesIO()
        pdf.save(out)
    assert pdf_difference(content, content) is None
    assert pdf_difference(content, out.getvalue()) is not None
    assert pdf_difference(out.getvalue(), content) is not None


@pytest.mark.long
@pytest.mark.parametrize(
    ("file", "variant", "make", "language", "copy_number", "base_url"),
    [
        (STOOL, None, traveler_pdf, "en", 1, None),
        (WINDER, "8", traveler_pdf, "en", 1, "https://mw.example"),
        (WINDER, "4", traveler_pdf, "es+en", 2, None),
        (WHEEL, None, traveler_pdf, "es", 12, None),
        (WINDER, "8", final_checklist_pdf, "en", 1, None),
        (WHEEL, None, crating_pdf, "es", 2, None),
        (WINDER, "8", packing_list_pdf, "en", 1, None),
    ],
)
def test_twenty_random_serials_are_stamped_as_they_would_be_rendered(
    file: Path,
    variant: str | None,
    make: Callable[..., Any],
    language: str,
    copy_number: int,
    base_url: str | None,
    shop_settings,
    printed,
    pictures,
    missing,
    tmp_path: Path,
) -> None:
    settings = replace_settings(shop_settings, base_url=base_url)
    more = {} if make is packing_list_pdf else {"pictures": pictures}
    render = partial(
        make, planned(file, variant), settings=settings, printed=printed, language=language,
        copy_number=copy_number, **more,
    )  # fmt: skip
    units = faces(20, seed=copy_number)
    stamp = master(kind_from(render, units[0], settings))
    if shutil.which("qpdf") is None:
        missing("no qpdf here; apt-get install qpdf")
    for unit in units:
        made = stamp.stamped(unit).pdf
        assert_same(made, render(unit).pdf)
        assert_own_alone(made)
        sheet = tmp_path / "sheet.pdf"
        sheet.write_bytes(made)
        checked = subprocess.run(["qpdf", "--check", sheet], capture_output=True, text=True, timeout=60)
        assert checked.returncode == 0, checked.stdout + checked.stderr
