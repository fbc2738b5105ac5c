"""The catalogues say everything the sheets say."""

from __future__ import annotations

import re
import string
from pathlib import Path

import pytest

from traveler.sheets.arrival_check import arrival_check_pdf
from traveler.sheets.certificate import certificate_pdf
from traveler.sheets.crate_papers import crate_label_pdf, packing_list_pdf, unit_label_pdf
from traveler.sheets.record import record_pdf
from traveler.sheets.templates import templates
from traveler.sheets.traveler import traveler_pdf
from traveler.sheets.words import spoken_limits, translated, words

ROOT = Path(__file__).resolve().parents[2]
ALSO_UNITS = {"min"}


@pytest.fixture(scope="module")
def said() -> set[str]:
    """Every text of ours in code and templates."""
    from babel.messages.extract import extract_from_dir

    code = extract_from_dir(ROOT / "traveler" / "sheets", [("**.py", "python")], keywords={"say": None})
    pages = extract_from_dir(ROOT / "templates" / "sheets", [("**.html", "jinja2")], keywords={"_": None})
    return {str(message) for _, _, message, _, _ in (*code, *pages)}


def test_every_text_is_translated_and_no_translation_is_stale(said):
    spanish = words("es", templates())
    assert said - set(spanish.catalog) == set()
    assert set(spanish.catalog) - said == set()


def test_both_catalogues_list_the_same_texts(said):
    from babel.messages.pofile import read_po

    for language in ("en", "es"):
        path = templates().find(f"locale/{language}/LC_MESSAGES/sheets.po")
        assert path is not None
        with path.open("rb") as file:
            assert {str(message.id) for message in read_po(file) if message.id} == said


def test_a_translation_has_the_gaps_of_its_text():
    def gaps(text: str) -> set[str]:
        return {name for _, name, _, _ in string.Formatter().parse(text) if name}

    for text, spanish in words("es", templates()).catalog.items():
        assert gaps(text) == gaps(spanish), text


def test_no_text_hides_in_an_f_string():
    for file in (ROOT / "traveler" / "sheets").glob("*.py"):
        assert not re.search(r"\{(self\.)?say\(", file.read_text(encoding="utf-8")), file


def test_words_of_the_plan_are_spoken_and_others_left():
    spanish = words("es", templates())
    assert translated("packer", spanish) == "embalador"
    assert translated("tuner", spanish) == "tuner"
    assert spoken_limits("10 to 12 min", spanish) == "10 a 12 min"
    assert spoken_limits("min 8 N", spanish) == "mín. 8 N"
    assert spoken_limits("8 N min", spanish) == "8 N mín."
    assert spoken_limits("0.05 mm MAX", spanish) == "0.05 mm máx."
    assert spoken_limits("0.05 mm max.", spanish) == "0.05 mm máx."
    assert spoken_limits("chamfer 2 ISO 2768-m", spanish) == "chaflán 2 ISO 2768-m"


def test_spanish_sheets_hold_no_english_of_ours(
    winder, record, unit, settings, printed, pictures, people, gauges, reader, said
):
    verdict, entries = record
    common = {"language": "es"}
    sheets = [
        traveler_pdf(winder, unit, settings, printed, pictures=pictures, copy_number=2, **common),
        certificate_pdf(
            winder, unit, verdict, entries, settings, printed, people=people, gauges=gauges, **common
        ),
        arrival_check_pdf(winder, unit, verdict, entries, settings, printed, **common),
        packing_list_pdf(winder, unit, settings, printed, **common),
        record_pdf(winder, unit, verdict, entries, settings, printed, people=people, **common),
        unit_label_pdf(winder, unit, settings, printed, **common),
        crate_label_pdf(winder, unit, settings, printed, **common),
    ]
    theirs = " ".join(spoken_words(winder))
    spanish = words("es", templates())
    english = {text for text in said if len(text) > 2 and spanish(text) != text}
    for sheet in sheets:
        assert sheet.printed, sheet.findings
        text = " ".join(reader(sheet.pdf).text().split())
        for item in english:
            fixed = max(re.split(r"\{\w+\}", item), key=len).strip()
            if fixed in ALSO_UNITS:
                continue
            whole = re.search(rf"(?<!\w){re.escape(fixed)}(?!\w)", text)
            assert not whole or fixed in theirs, (item, text[max(0, whole.start() - 40) : whole.end() + 40])


def spoken_words(plan):
    """Texts of the definition: not ours, and here in English."""
    yield from (plan.title, plan.variant_title, plan.change, *plan.options, *plan.variables)
    for operation in plan.operations:
        yield from (operation.title, operation.area, *(caution.text for caution in operation.cautions))
        for step in operation.steps:
            yield from (step.text, step.note, *(axis.name for axis in step.axes))
            yield from (part.title for part in step.parts)
            yield from (item.item for item in step.packing)
            yield from (value for axis in step.axes for value in axis.values)
            if step.adjust:
                yield from (step.adjust.text, *step.adjust.values.values())
            if step.gauge:
                yield step.gauge.title
