"""The traveler as a reader of the PDF sees it."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pikepdf
import pytest

from traveler.definition.plan import Caution, PartLine, Plan, PlanLimits, StepKind
from traveler.sheets.sheet import Printing
from traveler.sheets.traveler import traveler_pdf
from traveler.sheets.views.cover import Fetch, parts_to_fetch
from traveler.sheets.views.head import identity

SMALLEST = 9.5
LIMITS = PlanLimits(text="max 0.05 mm", unit="mm", upper="0.05", decimals=2)


def test_every_page_says_serial_product_revision_sheet_and_its_number(winder, winder_reader):
    texts = winder_reader.texts()
    assert len(texts) > 5
    for number, text in enumerate(texts, start=1):
        for expected in (
            "BW8-2648-0012T",
            winder.title,
            "revision D",
            "Order 4471",
            "copy 1",
            "Marrowby Machine Works",
        ):
            assert expected in text
        assert f"Traveler · page {number} of {len(texts)}" in text
        assert "printed 2026-11-25" in text


def test_text_comes_in_the_order_of_the_work(winder, winder_reader):
    text = " ".join(winder_reader.text().split())
    start = text.index("Spare lines")
    for operation in winder.operations:
        start = text.index(f"{operation.number} {operation.title}", start)
        for step in operation.steps:
            start = text.index(f"{step.number} ", start)
            start = text.index(" ".join(step.text.split()), start)


def test_acceptance_limits_stand_beside_the_specification(winder_reader):
    text = " ".join(winder_reader.text().split())
    assert "42.00 ± 0.15 mm accept 41.87 to 42.13 mm" in text


def test_an_operation_that_runs_over_is_headed_again(winder_reader):
    continued = [text for text in winder_reader.texts() if "30 Spindles, continued" in text]
    assert len(continued) == 1
    assert "Run-out difference between the ends" in continued[0]
    assert not any("10 Frame, continued" in text for text in winder_reader.texts())


def test_the_plan_inside_equals_the_plan_and_is_marked_as_its_source(winder, winder_sheet):
    with pikepdf.open(BytesIO(winder_sheet.pdf)) as pdf:
        content = pdf.attachments["plan.json"].get_file().read_bytes()
        assert Plan.model_validate_json(content) == winder
        assert len(pdf.Root.AF) == 1
        assert pdf.Root.AF[0].AFRelationship == "/Source"


def test_the_same_input_gives_the_same_bytes_and_another_time_does_not(
    plan_of, step, unit, settings, printed
):
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it."),))
    once = traveler_pdf(plan, unit, settings, printed).pdf
    assert once == traveler_pdf(plan, unit, settings, printed).pdf
    assert once != traveler_pdf(plan, unit, settings, printed.replace(day=26)).pdf


def test_the_file_is_sound_tagged_titled_and_built_as_pdf_a(winder_sheet):
    with pikepdf.open(BytesIO(winder_sheet.pdf)) as pdf:
        assert pdf.check_pdf_syntax() == []
        assert bool(pdf.Root.MarkInfo.Marked)
        assert str(pdf.Root.Lang) == "en"
        assert bool(pdf.Root.ViewerPreferences.DisplayDocTitle)
        with pdf.open_metadata() as data:
            assert data["pdfaid:part"] == "3"
            assert data["pdfaid:conformance"] == "A"
            assert "BW8-2648-0012T" in data["dc:title"]
        titles = [str(item.title) for item in walk(pdf.open_outline().root)]
        assert any("Spindles" in title for title in titles)
        for each_item in pdf.objects:
            if isinstance(each_item, pikepdf.Dictionary) and each_item.get("/Type") == "/FontDescriptor":
                assert "/FontFile2" in each_item
                assert "Traveler" in str(each_item.FontName)


def walk(items):
    for item in items:
        yield item
        yield from walk(item.children)


def test_a_reprint_says_so_on_every_page(plan_of, step, unit, settings, printed, reader):
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it."),))
    for text in reader(traveler_pdf(plan, unit, settings, printed, copy_number=2).pdf).texts():
        assert "COPY 2, reprint" in text


def test_letter_paper_holds_the_same_boxes_and_keeps_its_margins(
    winder, unit, settings, printed, pictures, winder_reader, reader, clean_pages
):
    letter = settings.model_copy(update={"page_size": "Letter"})
    sheet = traveler_pdf(winder, unit, letter, printed, pictures=pictures)
    assert sheet.printed, sheet.findings
    read = reader(sheet.pdf)
    assert read.document[0].get_size() == pytest.approx((612, 792), abs=0.1)
    assert sorted(box.name for box in read.boxes()) == sorted(box.name for box in winder_reader.boxes())
    clean_pages(read, "Letter")


def test_a_one_step_product_fits_two_pages(plan_of, step, unit, settings, printed, reader, clean_pages):
    sheet = traveler_pdf(plan_of((step("10", 1, StepKind.DO, "Bolt it."),)), unit, settings, printed)
    assert sheet.pages == 2
    clean_pages(reader(sheet.pdf), "A4")


def test_two_hundred_steps_long_titles_and_wide_grids_stay_whole(
    plan_of, step, unit, settings, printed, reader, clean_pages
):
    many = tuple(step("10", number, StepKind.CONFIRM, f"Look at place {number}.") for number in range(1, 201))
    words = "A rather long name of a check that tells where and how and with what it is to be read, " * 3
    grid = step("20", 1, StepKind.MEASURE, words, at={"head": 8, "place": 4}, limits=LIMITS)
    deep = step("20", 2, StepKind.MEASURE, "Bore", at={"side": 2, "row": 9, "hole": 3}, limits=LIMITS)
    plan = plan_of(many, (grid, deep), title="Bench for long things with a name that does not end soon")
    face = replace(unit, serial="LONGSERIAL-2648-0012-X7")
    sheet = traveler_pdf(plan, face, settings, printed)
    assert sheet.printed, sheet.findings
    read = reader(sheet.pdf)
    clean_pages(read, "A4")
    texts = [" ".join(text.split()) for text in read.texts()]
    for box in read.boxes():
        if box.name.startswith("20-") and "/" in box.name:
            assert LIMITS.text in texts[box.page], box
    assert sum("10 Work 10, continued" in text for text in texts) >= 10


def test_a_caution_stands_right_above_its_step(plan_of, step, unit, settings, printed, reader):
    warned = step(
        "10", 2, StepKind.DO, "Turn it over.", cautions=(Caution(signal="DANGER", text="It may fall."),)
    )
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it."), warned))
    text = " ".join(reader(traveler_pdf(plan, unit, settings, printed).pdf).text().split())
    assert "DANGER It may fall. 2 Turn it over." in text


def test_a_character_outside_the_fonts_is_a_finding_and_no_sheet(plan_of, step, unit, settings, printed):
    sheet = traveler_pdf(plan_of((step("10", 1, StepKind.DO, "漆 it."),)), unit, settings, printed)
    assert [finding.code for finding in sheet.findings] == ["SHT001"]
    assert sheet.pdf == b""
    assert not sheet.printed


def test_a_missing_picture_is_told_and_marked_on_the_page(plan_of, step, unit, settings, printed, reader):
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it.", picture="frame.svg"),))
    sheet = traveler_pdf(plan, unit, settings, printed)
    assert [(finding.code, finding.weight) for finding in sheet.findings] == [("SHT002", "warning")]
    assert "Picture frame.svg is missing." in reader(sheet.pdf).text()
    assert sheet.printed


def test_a_time_without_a_zone_is_refused(plan_of, step, unit, settings, printed):
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it."),))
    with pytest.raises(ValueError, match="zone"):
        traveler_pdf(plan, unit, settings, printed.replace(tzinfo=None))


@pytest.mark.parametrize(
    ("mass", "told"), [("71 kg", True), ("23 kg", False), ("60 lb", True), (None, False)]
)
def test_only_a_heavy_product_is_flagged_as_a_lift(
    mass, told, plan_of, step, unit, settings, printed, reader
):
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it."),), mass=mass)
    text = " ".join(reader(traveler_pdf(plan, unit, settings, printed).pdf).text().split())
    assert (f"{mass}. Lift with a hoist" in text) is told
    assert "Local codes and licensed practice govern" in text


def test_steps_on_some_pieces_of_a_lot_say_which(plan_of, step, unit, settings, printed, reader):
    first = step("10", 1, StepKind.CONFIRM, "Look at it.", first_piece=True)
    run = step("10", 2, StepKind.CONFIRM, "Look again.", every=10)
    text = reader(traveler_pdf(plan_of((first, run)), unit, settings, printed).pdf).text()
    assert "On the first piece, before the run." in text
    assert "On one piece in 10." in text


def test_a_part_that_many_steps_need_is_fetched_once(plan_of, step):
    bolt = PartLine(number="H-8", title="Bolt", quantity="4")
    bar = PartLine(number="B-1", title="Bar", quantity="0.5")
    first = [step("10", number, StepKind.DO, "Bolt it.", parts=(bolt,)) for number in (1, 2, 3)]
    second = [step("20", number, StepKind.DO, "Bar it.", parts=(bolt, bar)) for number in (1, 2)]
    assert parts_to_fetch(plan_of(tuple(first), tuple(second))) == (
        Fetch("H-8", "Bolt", "20", "10, 20"),
        Fetch("B-1", "Bar", "1.0", "20-1, 20-2"),
    )


def test_a_shop_says_what_one_person_lifts(plan_of, step, unit, settings, printed, reader):
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it."),), mass="16 kg")
    careful = settings.model_copy(update={"lift_alone": "15 kg"})
    assert "16 kg. Lift with a hoist" in reader(traveler_pdf(plan, unit, careful, printed).pdf).text()
    assert "Lift with a hoist" not in reader(traveler_pdf(plan, unit, settings, printed).pdf).text()


def test_long_options_have_a_row_of_their_own(plan_of, step, unit, settings, printed):
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it."),), options=("Pedal", "Creel " * 12))
    rows = identity(plan, unit, Printing(settings, printed)).rows
    assert [fact.label for fact in rows[-1]] == ["options"]
    assert all(len(row) <= 4 for row in rows)


def test_a_long_title_does_not_run_off_the_pages_it_goes_on_to(
    plan_of, step, unit, settings, printed, reader, clean_pages
):
    steps = tuple(step("10", number, StepKind.DO, "Bolt it.") for number in range(1, 30))
    plan = plan_of(steps)
    (operation,) = plan.operations
    wide = operation.model_copy(update={"title": "Warping frame with rollers " * 6})
    sheet = traveler_pdf(plan.model_copy(update={"operations": (wide,)}), unit, settings, printed)
    read = reader(sheet.pdf)
    assert "…, continued" in read.texts()[-1]
    clean_pages(read, "A4")
