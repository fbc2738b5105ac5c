"""The packing list that goes into the crate."""

from __future__ import annotations

import pytest

from traveler.definition.plan import PackingItem
from traveler.sheets.crate_papers import packing_list_pdf, whole_mass


def test_items_stand_in_their_order_with_the_mass_of_all_pieces(
    winder, unit, settings, printed, reader, clean_pages
):
    read = reader(packing_list_pdf(winder, unit, settings, printed).pdf)
    clean_pages(read, "A4")
    text = " ".join(read.text().split())
    place = 0
    for line in (
        "Winder 1 71.0 kg",
        "P-3310 Bobbin set 8 1.68 kg",
        "Desiccant bag 2 0.250 kg",
        "P-2301 Foot pedal 1 1.20 kg",
    ):
        place = text.index(line, place)
    assert "gross mass, expected 93.06 kg" in text
    assert len(read.boxes()) == 6


def test_a_weighed_mass_takes_the_place_of_the_expected_one(winder, unit, settings, printed, reader):
    text = " ".join(
        reader(packing_list_pdf(winder, unit, settings, printed, gross_mass="93.2 kg").pdf).text().split()
    )
    assert "gross mass, weighed 93.2 kg" in text
    assert "expected" not in text


def test_no_internal_date_or_note_is_on_it(winder, unit, settings, printed, reader):
    text = reader(packing_list_pdf(winder, unit, settings, printed).pdf).text()
    for inside in ("due", "2026-12-04", "revised", "Spindle run-out", "minutes"):
        assert inside not in text


@pytest.mark.parametrize(
    ("quantity", "mass", "expected"),
    [
        ("8", "0.21 kg", "1.68 kg"),
        ("1", None, ""),
        ("2", "1/2 lb", "1.0 lb"),
        ("a few", "1 kg", ""),
        ("2", "heavy", ""),
    ],
)
def test_mass_of_all_pieces(quantity, mass, expected):
    assert whole_mass(PackingItem(slot="C-1/item=1", item="x", quantity=quantity, mass=mass)) == expected
