"""Every sheet, measured from its PDF: sizes, margins, limits beside boxes, nothing cut off, a sound file."""

from __future__ import annotations

import shutil
import subprocess
from io import BytesIO

import pikepdf
import pytest

from traveler.definition.plan import Plan
from traveler.sheets.pdf.paper import POINTS_PER_MM
from traveler.sheets.templates import templates
from traveler.sheets.views.limits import spelled_range
from traveler.sheets.words import words

FORMS = ("traveler", "final-checklist", "crating-sheet", "arrival-check", "packing-list")
PAGES = (*FORMS, "certificate", "record")
LABELS = ("unit-label", "crate-label")
WITHOUT_PLAN = ("packing-list", "arrival-check")
"""They go to the customer, without internal notes."""
SMALLEST = 9.5
TICK, READING = (6.0, 6.0), (24.0, 9.0)
ANY = (11.0, 9.0)
OFF = 0.01
"""Millimeters by which numbers rounded in a PDF may be off."""
SIZES = ("A4", pytest.param("Letter", marks=pytest.mark.long))


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", PAGES)
def test_pages_are_clean(name, size, every_sheet, clean_pages):
    clean_pages(every_sheet(name, size), size)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", PAGES)
def test_no_text_is_smaller_than_the_smallest_size(name, size, every_sheet):
    read = every_sheet(name, size)
    smallest = min(read.characters(), key=lambda character: character.size)
    assert smallest.size >= SMALLEST - 0.01, smallest


def least(name: str, kind: str) -> tuple[float, float]:
    """The least size of a box in millimeters by its name and its kind of field."""
    part = name.partition("#")[2]
    if kind == "/Btn":
        return TICK
    is_reading = part in {"", "found"} and not name.endswith("/sign")
    return READING if is_reading or part.startswith("arrival") else ANY


@pytest.mark.parametrize("name", FORMS)
def test_no_box_is_too_small_for_a_glove(name, every_sheet):
    read = every_sheet(name)
    with pikepdf.open(BytesIO(read.content)) as pdf:
        kinds = {str(field.T): str(field.FT) for field in pdf.Root.AcroForm.Fields}
    boxes = [box for box in read.boxes() if not box.name.startswith("unit#")]
    assert boxes
    for box in boxes:
        width, height = (box.right - box.left) / POINTS_PER_MM, (box.top - box.bottom) / POINTS_PER_MM
        least_width, least_height = least(box.name, kinds[box.name])
        assert width >= least_width - OFF, (box, width)
        assert height >= least_height - OFF, (box, height)


@pytest.mark.parametrize("name", ["traveler", "final-checklist", "crating-sheet"])
def test_a_limit_is_on_the_page_of_its_boxes(name, winder, every_sheet):
    read = every_sheet(name)
    texts = ["".join(text.split()) for text in read.texts()]
    proved = 0
    for box in read.boxes():
        step = winder.step_of.get(box.name.partition("#")[0])
        if step is not None and step.limits is not None:
            assert "".join(step.limits.text.split()) in texts[box.page], box
            proved += 1
    assert proved or name == "final-checklist"


@pytest.mark.parametrize("name", ["traveler", "record"])
def test_everything_the_definition_says_is_there_to_the_last_letter(name, winder, every_sheet):
    text = "".join(every_sheet(name).text().split())
    say = words("en", templates())
    for operation in winder.operations:
        said = [operation.title, operation.area, *(caution.text for caution in operation.cautions)]
        for step in operation.steps:
            said += [
                step.text,
                step.note,
                step.part_number or "",
                *(caution.text for caution in step.cautions),
            ]
            said += [part.title for part in step.parts] + [item.item for item in step.packing]
            said += [step.gauge.title] if step.gauge else []
            said += [step.limits.text, spelled_range(step.limits, say)] if step.limits else []
        for value in said:
            assert "".join(value.split()) in text, value


@pytest.mark.parametrize("name", [*PAGES, *LABELS])
def test_qpdf_finds_nothing(name, every_sheet, missing, tmp_path):
    if shutil.which("qpdf") is None:
        missing("no qpdf here; apt-get install qpdf")
    file = tmp_path / "sheet.pdf"
    file.write_bytes(every_sheet(name).content)
    done = subprocess.run(["qpdf", "--check", str(file)], capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "WARNING" not in done.stdout + done.stderr


@pytest.mark.parametrize("name", [*PAGES, *LABELS])
def test_it_is_tagged_titled_and_built_as_pdf_a(name, winder, unit, every_sheet):
    with pikepdf.open(BytesIO(every_sheet(name).content)) as pdf:
        root = pdf.Root
        assert str(root.Lang) == "en"
        assert root.MarkInfo.Marked
        assert root.ViewerPreferences.DisplayDocTitle
        assert unit.serial in str(pdf.docinfo.Title)
        assert "/StructTreeRoot" in root
        with pdf.open_metadata() as facts:
            assert (facts["pdfaid:part"], facts["pdfaid:conformance"]) == ("3", "A")
            assert facts["dc:title"] == str(pdf.docinfo.Title)
        assert root.OutputIntents[0].S == "/GTS_PDFA1"
        assert "/NeedAppearances" not in root.get("/AcroForm", {})
        assert len(pdf.trailer.ID) == 2
        if name in LABELS:
            return
        assert len(pdf.open_outline().root) >= 1
        if name in WITHOUT_PLAN:
            assert not pdf.attachments
            return
        assert Plan.model_validate_json(pdf.attachments["plan.json"].get_file().read_bytes()) == winder
        assert {str(item.AFRelationship) for item in root.AF} <= {"/Source", "/Data"}


@pytest.mark.parametrize("name", [*PAGES, *LABELS])
def test_every_font_is_ours_and_inside(name, every_sheet):
    with pikepdf.open(BytesIO(every_sheet(name).content)) as pdf:
        descriptors = [
            item
            for item in pdf.objects
            if isinstance(item, pikepdf.Dictionary) and item.get("/Type") == "/FontDescriptor"
        ]
        assert descriptors
        for descriptor in descriptors:
            assert "Traveler" in str(descriptor.FontName)
            assert "/FontFile2" in descriptor


@pytest.mark.parametrize(
    "name",
    [
        *("certificate", "packing-list", *LABELS),
        *(
            pytest.param(page, marks=pytest.mark.long)
            for page in PAGES
            if page not in {"certificate", "packing-list"}
        ),
    ],
)
def test_the_same_input_gives_the_same_bytes(name, render, every_sheet):
    assert render(name).pdf == every_sheet(name).content


@pytest.mark.parametrize("name", FORMS)
def test_what_either_library_fills_in_both_read_back(name, every_sheet):
    import pypdf

    content = every_sheet(name).content
    with pikepdf.open(BytesIO(content)) as pdf:
        fields = {str(field.T): field for field in pdf.Root.AcroForm.Fields}
        free = [text for text, field in fields.items() if not int(field.get("/Ff", 0)) & 1]
        lengths = {text: int(fields[text].get("/MaxLen", 0)) for text in free}
        wanted = {text: ("0.041 ± µ Ω é"[: lengths[text]] if lengths[text] else "/on") for text in free}
        for text, value in wanted.items():
            fields[text].V = pikepdf.Name.on if value == "/on" else pikepdf.String(value)
        by_pikepdf = BytesIO()
        pdf.save(by_pikepdf)
    writer = pypdf.PdfWriter(clone_from=pypdf.PdfReader(BytesIO(content)))
    for page in writer.pages:
        writer.update_page_form_field_values(page, wanted, auto_regenerate=False)
    by_pypdf = BytesIO()
    writer.write(by_pypdf)
    assert wanted
    for filled in (by_pikepdf.getvalue(), by_pypdf.getvalue()):
        assert {text: value for text, value in read_by_pikepdf(filled).items() if text in wanted} == wanted
        assert {text: value for text, value in read_by_pypdf(filled).items() if text in wanted} == wanted


def read_by_pikepdf(content: bytes) -> dict[str, str]:
    with pikepdf.open(BytesIO(content)) as pdf:
        return {str(field.T): str(field.get("/V", "")) for field in pdf.Root.AcroForm.Fields}


def read_by_pypdf(content: bytes) -> dict[str, str]:
    import pypdf

    found = pypdf.PdfReader(BytesIO(content)).get_fields() or {}
    return {name: str(field.get("/V", "")) for name, field in found.items()}
