"""Sheets in the language of the shop, of the customer, or the one asked for; records know no language."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from traveler.definition.plan import Plan
from traveler.jobs.print import print_new, reprint
from traveler.jobs.shipping import release
from traveler.sheets.batch.catalog import step_sheets
from traveler.sheets.batch.requests import blank_file
from traveler.shop.session import Session
from traveler.trace.judging import judge

SPANISH = {
    "title: Folding step stool": "title: {en: Folding step stool, es: Taburete plegable}",
    "do: Rivet the legs to the treads.": "do: {en: Rivet the legs., es: Remache las patas.}",
    "title: Dial indicator": "title: {en: Dial indicator, es: Comparador}",
    "confirm: No burrs felt.": "confirm: {en: No burrs felt., es: No se notan rebabas.}",
    "gauges:\n": "names:\n  side: {en: side, es: lado}\n  left: {en: left, es: izquierdo}\n\ngauges:\n",
}


@pytest.fixture
def store_url(tmp_path: Path) -> str:
    """Sheets do not depend on the kind of store."""
    return f"sqlite:///{tmp_path / 'records.db'}"


@pytest.fixture
def two(bench: Any, edit: Callable[[str, str], None]) -> Any:
    """The bench with a product that speaks English and Spanish."""
    for english, both in SPANISH.items():
        edit(english, both)
    return bench


def speaking(session: Session, **settings: object) -> Session:
    """The office of a shop with these settings."""
    shop = replace(session.shop, settings=session.shop.settings.model_copy(update=settings))
    return replace(session, shop=shop)


def text_of(path: Path) -> str:
    import pypdf

    pages = pypdf.PdfReader(BytesIO(path.read_bytes())).pages
    return " ".join("\n".join(page.extract_text() for page in pages).split())


def attached(path: Path) -> Plan:
    with pikepdf.open(path) as pdf:
        return Plan.model_validate_json(pdf.attachments["plan.json"].get_file().read_bytes())


def test_a_spanish_shop_prints_spanish_words_and_texts(two: Any) -> None:
    two.session = speaking(two.session, language="es")
    serial = two.unit()
    (printed,) = print_new(two.session, [serial])
    text = text_of(printed.files[0])
    for said in (
        "Taburete plegable",
        "Remache las patas.",
        "No se notan rebabas.",
        "izquierdo",
        "Hoja de ruta",
    ):
        assert said in text
    for left in ("Folding", "Rivet", "No burrs", "Dial indicator", "Traveler", "Final checks", "Crating"):
        assert left not in text
    assert "max 0.05 mm" not in text


def test_the_judged_and_the_attached_plan_are_the_same_in_every_language(two: Any) -> None:
    serial = two.unit()
    (spanish,) = print_new(replace(two.session, language="es"), [serial])
    with two.session.store.reading() as records:
        assert attached(spanish.files[0]) == judge(two.session, records, serial).plan == two.plans[serial]


def test_many_are_stamped_in_their_language(two: Any) -> None:
    two.session = speaking(two.session, language="es+en")
    done = two.issue(count=6, order="4471")
    printed = list(print_new(two.session, done.serials))
    assert {printout.serial for printout in printed} == set(done.serials)
    for printout in printed:
        assert not printout.findings
        text = text_of(printout.files[0])
        assert printout.serial in text
        assert "Remache las patas." in text
        assert "Rivet the legs." in text


def test_what_leaves_with_the_unit_may_have_a_language_of_its_own(two: Any) -> None:
    serial = two.built()
    two.session = speaking(two.session, customer_language="es")
    taken = release(two.session, serial, "qmoor", two.session.now)
    assert taken.taken, [str(finding) for finding in taken.findings]
    files = {file.stem: file for file in step_sheets(two.session, taken.judged, "released").files}
    for name in ("certificate", "arrival-check", "packing-list", "crate-label"):
        assert "Taburete plegable" in text_of(files[name]), name
    assert "Folding step stool" in text_of(files["unit-label"])
    asked = replace(two.session, language="en")
    (again,) = reprint(asked, [serial], None, "qmoor", "certificate")
    assert "Quality certificate" in text_of(again.files[0])


def test_a_file_to_fill_in_calls_the_slots_as_the_sheets_do(two: Any) -> None:
    serial = two.unit()
    assert "Remache las patas." in blank_file(speaking(two.session, language="es"), serial, "csv")
    assert "Rivet the legs." in blank_file(two.session, serial, "csv")
