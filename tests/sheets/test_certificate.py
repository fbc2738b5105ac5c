"""The certificate: what was measured against what, with which gauge, and who released it."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pikepdf
import pytest

from traveler.record.entry import Decided, Released, Stopped, Struck
from traveler.sheets.certificate import certificate_pdf
from traveler.verdict.state import SlotState


@pytest.fixture
def certificate(winder, record, unit, settings, printed, people, gauges):
    verdict, entries = record

    def make(verdict=verdict, entries=entries, **more):
        return certificate_pdf(
            winder, unit, verdict, entries, settings, printed, people=people, gauges=gauges, **more
        )

    return make


@pytest.fixture
def text(certificate, reader) -> str:
    sheet = certificate()
    assert sheet.printed, sheet.findings
    return " ".join(reader(sheet.pdf).text().split())


def test_its_pages_are_clean(certificate, reader, clean_pages):
    clean_pages(reader(certificate().pdf), "A4")


def test_every_measured_check_is_there_with_limits_and_unit(winder, text):
    for step in winder.steps():
        if step.limits is not None:
            assert step.text in text
            assert step.limits.text in text
    assert "Spindle run-out (TIR), re-measured by inspection" in text


def test_values_stand_by_position(text):
    assert "spindle 1 2 3 4 5 6 7 8 near mm 0.05 0.05 0.05 0.05 0.05 0.05 0.05 0.05 far mm 0.05" in text


def test_release_names_the_person_the_shops_day_and_the_end_of_the_record(text, record):
    head = "3c9d" * 16
    assert "Released by Rosa Hale on 2026-11-26, after review of the whole record." in text
    assert f"The record had {len(record[1]) - 1} entries at the release; its last link is {head}" in text
    assert "All values are within limits." in text


def test_parts_of_one_lot_share_a_line(text):
    assert "Spindle bearing pair P-2112, spindle 1, 2, 3, 4, 5, 6, 7, 8 L-2648-7 tkiln · 2026-11-26" in text


def test_gauges_show_uncertainty_and_calibration(text):
    assert "IND-03 Dial indicator ± 0.003 mm (k = 2) calibrated 2026-08-01, due 2027-01-28" in text


def test_a_conceded_value_is_marked(certificate, record, reader):
    verdict, _ = record
    slots = dict(verdict.slots)
    slots["30-2/spindle=3,end=far"] = replace(
        slots["30-2/spindle=3,end=far"], state=SlotState.OUT, value="0.06"
    )
    text = " ".join(reader(certificate(verdict=replace(verdict, slots=slots)).pdf).text().split())
    assert "0.06 outside limits" in text
    assert "All values are within limits." not in text
    assert "under a concession" in text


def test_a_unit_that_is_not_released_gets_none(certificate, record):
    _, entries = record
    sheet = certificate(entries=entries[:-1])
    assert [(finding.code, finding.place.unit) for finding in sheet.findings] == [
        ("SHT020", "BW8-2648-0012T")
    ]
    assert sheet.pdf == b""


def test_a_release_that_was_struck_out_does_not_count(certificate, record):
    _, entries = record
    assert isinstance(entries[-1].body, Released)
    struck = entries[-1].model_copy(
        update={"seq": entries[-1].seq + 1, "body": Struck(strikes=entries[-1].seq, reason="slip")}
    )
    assert [finding.code for finding in certificate(entries=(*entries, struck)).findings] == ["SHT020"]


def test_it_is_sound_repeatable_and_carries_the_plan(certificate):
    content = certificate().pdf
    assert content == certificate().pdf
    with pikepdf.open(BytesIO(content)) as pdf:
        assert pdf.check_pdf_syntax() == []
        assert "plan.json" in pdf.attachments
        assert "/AcroForm" not in pdf.Root


def test_a_release_by_somebody_standing_in_says_for_whom(certificate, record, reader, settings):
    verdict, entries = record
    stood_in = tuple(
        entry.model_copy(update={"body": entry.body.model_copy(update={"instead_of": "tkiln"})})
        if isinstance(entry.body, Released)
        else entry
        for entry in entries
    )
    english = " ".join(reader(certificate(verdict, stood_in).pdf).text().split())
    assert "Released by Rosa Hale instead of tkiln on 2026-11-26" in english


def test_a_concession_stands_with_its_number_where_it_is_and_who_gave_it(certificate, record, reader):
    verdict, entries = record
    near = next(
        entry for entry in entries if entry.slot is not None and entry.slot.startswith("30-2/spindle=3")
    )
    number = len(entries)
    told = [
        (Stopped(what="over by a hair"), near.slot),
        (Decided(stop=number + 1, decision="use_as_is", concession="C-0012"), near.slot),
        (Stopped(what="scratch"), None),
        (Decided(stop=number + 3, decision="no_fault"), None),
    ]
    more = tuple(
        near.model_copy(update={"seq": number + 1 + n, "slot": slot, "body": body, "by": "rhale"})
        for n, (body, slot) in enumerate(told)
    )
    text = " ".join(reader(certificate(verdict, (*entries, *more)).pdf).text().split())
    assert "Concessions deviation concession by, day" in text
    assert "by, day Spindle run-out (TIR), spindle 3, end near C-0012 Rosa Hale · 2026-11-26" in text
    assert "scratch" not in text
    assert "Concessions" not in " ".join(reader(certificate().pdf).text().split())
