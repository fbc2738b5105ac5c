"""The arrival check: what the customer can verify."""

from __future__ import annotations

import pytest

from traveler.sheets.arrival_check import arrival_check_pdf


@pytest.fixture(scope="module")
def arrival(winder, record, unit, settings, printed, reader):
    sheet = arrival_check_pdf(winder, unit, *record, settings, printed)
    assert sheet.printed, sheet.findings
    return reader(sheet.pdf)


def test_each_value_of_the_named_checks_stands_beside_a_box(winder, arrival):
    names = {box.name for box in arrival.boxes()}
    expected = {slot.id for check in winder.arrival_check for slot in winder.check(check).slots}
    assert {name.removeprefix("sheet#arrival/") for name in names if "/" in name} == expected
    text = " ".join(arrival.text().split())
    assert "spindle 1, end near 0.05" in text
    assert "Gross mass 93.06 ± 0.4 kg" in text


def test_the_limit_is_on_the_page_of_its_boxes(winder, arrival):
    texts = [" ".join(text.split()) for text in arrival.texts()]
    assert len(texts) == 2
    for box in arrival.boxes():
        if "/" in box.name:
            limits = winder.step_of[box.name.removeprefix("sheet#arrival/")].limits
            assert limits.text in texts[box.page]


def test_its_pages_are_clean(arrival, clean_pages):
    clean_pages(arrival, "A4")


def test_cautions_come_first_and_name_mass_and_law(arrival):
    text = " ".join(arrival.text().split())
    parts = ("WARNING The crate weighs about 93.06 kg.", "Visual inspection", "Measure")
    places = [text.index(part) for part in parts]
    assert places == sorted(places)
    assert "Local codes and licensed practice govern the connection." in text
    assert "The serial on the nameplate is BW8-2648-0012T." in text


def test_a_recorder_of_travelers_can_tell_its_boxes_apart(arrival):
    assert all(box.name.startswith("sheet#") for box in arrival.boxes())


def test_a_value_that_was_never_read_is_a_dash(winder, record, unit, settings, printed, reader):
    verdict, entries = record
    slots = {name: slot for name, slot in verdict.slots.items() if name != "30-2/spindle=1,end=near"}
    from dataclasses import replace

    sheet = arrival_check_pdf(winder, unit, replace(verdict, slots=slots), entries, settings, printed)
    assert "spindle 1, end near –" in " ".join(reader(sheet.pdf).text().split())
