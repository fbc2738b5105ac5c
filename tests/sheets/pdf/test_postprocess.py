"""The form of a sheet, read and filled by libraries that know nothing of ours."""

from __future__ import annotations

from io import BytesIO

import pikepdf
import pytest

from traveler.definition.plan import SlotKind, StepKind
from traveler.sheets.templates import templates
from traveler.sheets.traveler import traveler_pdf

OTHER = ("unit", "stop", "spare")
PARTS = {"", "found", "gauge", "by", "at", "open"}


@pytest.fixture(scope="module")
def fields(winder_sheet) -> dict[str, dict[str, object]]:
    """Name → entries of every field, as pikepdf reads them."""
    with pikepdf.open(BytesIO(winder_sheet.pdf)) as pdf:
        form = pdf.Root.AcroForm
        assert "/NeedAppearances" not in form
        return {
            str(field.T): {
                "kind": str(field.FT),
                "flags": int(field.get("/Ff", 0)),
                "tip": str(field.TU),
                "longest": int(field.get("/MaxLen", 0)),
                "value": field.get("/V"),
                "widgets": len(field.get("/Kids", [field])),
            }
            for field in form.Fields
        }


def test_boxes_are_named_after_the_slots_of_the_plan_and_nothing_else(winder, fields):
    slots = {name.partition("#")[0] for name in fields} - set(OTHER)
    assert {name for name in slots if name in winder.by_slot} == set(winder.by_slot)
    steps = {step.id for step in winder.steps()}
    assert slots <= set(winder.by_slot) | steps
    for name in fields:
        base, _, part = name.partition("#")
        assert base in OTHER or part in PARTS, name


def test_no_name_holds_a_period(fields):
    assert not [name for name in fields if "." in name]


def test_identity_stands_in_read_only_fields(winder, fields):
    expected = {"unit#serial": "BW8-2648-0012T", "unit#revision": "D", "unit#digest": winder.digest}
    for name, value in expected.items():
        assert str(fields[name]["value"]) == value
        assert fields[name]["flags"] == 1


def test_only_identity_and_worked_out_boxes_are_read_only(winder, fields):
    fixed = {name for name, field in fields.items() if field["flags"] & 1}
    worked = {slot.id for slot in winder.slots() if slot.kind is SlotKind.WORKED}
    assert fixed == worked | {"unit#serial", "unit#revision", "unit#digest"}


def test_ticks_are_buttons_and_all_else_is_text_with_a_length(winder, fields):
    ticks = {SlotKind.TICK, SlotKind.CONFIRM, SlotKind.PHOTO, SlotKind.PACKED}
    for name, field in fields.items():
        slot = winder.by_slot.get(name)
        if slot is not None and slot.kind in ticks:
            assert field["kind"] == "/Btn"
            assert str(field["value"]) == "/Off"
        else:
            assert field["kind"] == "/Tx"
            assert field["longest"] >= 8


def test_every_box_says_what_it_is_for(winder, fields):
    for name, field in fields.items():
        assert field["tip"], name
        assert field["tip"] != name
    assert (
        fields["30-2/spindle=3,end=far"]["tip"]
        == "30-2 Spindle run-out (TIR): max 0.05 mm, spindle 3, end far"
    )
    assert fields["30-2/spindle=3,end=far#found"]["tip"].endswith("as found")


def test_a_signature_on_cover_and_block_is_one_field(winder, fields):
    for operation in winder.operations:
        assert fields[f"{operation.number}/sign"]["widgets"] == 2
        assert fields[f"{operation.number}/sign#at"]["widgets"] == 2
    assert sum(field["widgets"] for field in fields.values()) == len(fields) + 2 * len(winder.operations)


def test_tabs_follow_the_work(winder, winder_reader):
    order = [box.name for box in winder_reader.boxes()]
    body = [name for name in order if name in winder.by_slot and not name.endswith("/sign")]
    steps = list(dict.fromkeys(winder.step_of[name].id for name in body))
    assert steps == [step.id for step in winder.steps()]
    single = [name for name in body if not winder.step_of[name].axes]
    assert single == [slot.id for step in winder.steps() if not step.axes for slot in step.slots]
    grid = [name for name in body if name.startswith("30-2/")]
    rows = [(first, end) for first in (1, 5) for end in ("near", "far")]
    assert grid == [
        f"30-2/spindle={number},end={end}" for first, end in rows for number in range(first, first + 4)
    ]
    with pikepdf.open(BytesIO(winder_reader.content)) as pdf:
        assert {str(page.Tabs) for page in pdf.pages} == {"/S"}


def test_every_widget_has_its_own_appearance_and_is_printed(winder_sheet):
    with pikepdf.open(BytesIO(winder_sheet.pdf)) as pdf:
        for page in pdf.pages:
            for annot in page.get("/Annots", ()):
                assert int(annot.F) == 4
                left, bottom, right, top = (float(part) for part in annot.Rect)
                assert left < right
                assert bottom < top
                states = annot.AP.N
                field = annot if "/FT" in annot else annot.Parent
                if field.FT == "/Btn":
                    assert set(states.keys()) == {"/on", "/Off"}
                    assert annot.AS == "/Off"
                else:
                    assert isinstance(states, pikepdf.Stream)


def filled(winder, by_slot) -> dict[str, str]:
    values = {}
    for slot in winder.slots():
        if slot.kind is SlotKind.READING:
            values[slot.id] = "0.031"
        elif slot.kind is SlotKind.PART:
            values[slot.id] = "L-µ°±é-7"
        elif slot.kind in {SlotKind.SIGN, SlotKind.WITNESS}:
            values[slot.id] = "tkiln"
    return values


def test_what_pypdf_fills_in_pikepdf_and_pdfium_read_back(winder, winder_sheet):
    import pypdf

    values = filled(winder, winder.by_slot)
    ticks = {slot.id: "/on" for slot in winder.slots() if slot.kind is SlotKind.TICK}
    writer = pypdf.PdfWriter(clone_from=BytesIO(winder_sheet.pdf))
    writer.update_page_form_field_values(None, values | ticks, auto_regenerate=False)
    out = BytesIO()
    writer.write(out)
    with pikepdf.open(BytesIO(out.getvalue())) as pdf:
        found = {str(field.T): str(field.get("/V", "")) for field in pdf.Root.AcroForm.Fields}
    assert {name: found[name] for name in values} == values
    assert {name: found[name] for name in ticks} == ticks
    assert found["unit#serial"] == "BW8-2648-0012T"
    again = pypdf.PdfReader(BytesIO(out.getvalue())).get_form_text_fields(full_qualified_name=True)
    assert {name: again[name] for name in values} == values


def test_a_filled_box_shows_what_was_filled_in(winder, winder_sheet):
    import pypdf

    writer = pypdf.PdfWriter(clone_from=BytesIO(winder_sheet.pdf))
    writer.update_page_form_field_values(None, {"10-2": "LOT7741", "10-1": "/on"}, auto_regenerate=False)
    out = BytesIO()
    writer.write(out)
    before, after = (dark_pixels(content, ("10-2", "10-1")) for content in (winder_sheet.pdf, out.getvalue()))
    assert after["10-2"] > before["10-2"] + 100
    assert after["10-1"] > before["10-1"] + 50


def dark_pixels(content: bytes, names: tuple[str, ...]) -> dict[str, int]:
    import pypdfium2

    places = {}
    with pikepdf.open(BytesIO(content)) as pdf:
        for number, page in enumerate(pdf.pages):
            for annot in page.get("/Annots", ()):
                if "/T" in annot and str(annot.T) in names:
                    places[str(annot.T)] = (number, [float(part) for part in annot.Rect])
    document = pypdfium2.PdfDocument(content)
    document.init_forms()
    counted = {}
    for name, (number, (left, bottom, right, top)) in places.items():
        page = document[number]
        pixels = page.render(scale=2, grayscale=True).to_numpy()
        high = page.get_height()
        inside = pixels[
            int((high - top) * 2) + 2 : int((high - bottom) * 2) - 2, int(left * 2) + 2 : int(right * 2) - 2
        ]
        counted[name] = int((inside < 128).sum())
    return counted


def test_the_serial_in_its_field_is_drawn_without_a_viewer_making_it(winder_sheet):
    assert dark_pixels(winder_sheet.pdf, ("unit#serial",))["unit#serial"] > 200


def test_a_shop_template_that_leaves_boxes_out_is_told(tmp_path, plan_of, step, unit, settings, printed):
    own = tmp_path / "templates" / "sheets"
    own.mkdir(parents=True)
    page = '{% extends "sheets/base.html" %}{% block content %}<p>Nothing to write.</p>{% endblock %}'
    (own / "traveler.html").write_text(page, encoding="utf-8")
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it."),))
    sheet = traveler_pdf(plan, unit, settings, printed, templates=templates(tmp_path))
    assert [finding.code for finding in sheet.findings] == ["SHT011"]
    assert "10-1" in sheet.findings[0].what
    assert not sheet.printed


def test_a_lot_step_asks_for_good_rework_and_scrap(plan_of, step, unit, settings, printed, reader):
    sheet = traveler_pdf(plan_of((step("10", 1, StepKind.COUNT, "Count."),)), unit, settings, printed)
    names = [box.name for box in reader(sheet.pdf).boxes() if box.name.startswith("10-1")]
    assert names == ["10-1", "10-1#rework", "10-1#scrap", "10-1#by"]
