"""A recall on paper and as a page: what it says is what the recall says."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from typing import Any

import pytest

from traveler.measure.gauge_error import parse_error
from traveler.record.chain import GENESIS, link_row
from traveler.record.entry import Draft, Read
from traveler.record.records import Unit
from traveler.record.stored import to_entry
from traveler.sheets.sheet import Printing
from traveler.sheets.templates import templates
from traveler.shop.gauges import Calibration, Gauge
from traveler.shop.settings import Settings
from traveler.trace.recall import Recall, RecalledReading, RecalledUnit
from traveler.trace.reports import recall_page, recall_sheet, recall_view
from traveler.verdict.deciding import Reweighed
from traveler.verdict.state import SlotState

NOW = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)
GAUGE = Gauge(
    id="IND-03", kind="indicator", title="Dial <indicator>", range="0 to 1 mm", interval_days=365,
    calibrations=(Calibration(on=date(2026, 2, 2)),),
)  # fmt: skip


def reading(seq: int, idle: str = "", result: Reweighed | None = None) -> RecalledReading:
    body = Read(written="0.041 mm", value="0.041", unit="mm", gauge="IND-03")
    draft = Draft(unit="U", at=NOW, by="tkiln", slot="10-4/side=left", body=body)
    return RecalledReading(
        to_entry(link_row(draft, seq, GENESIS, NOW)), "Play: left", "0.041 mm", "0.061 mm", idle, "", result
    )


def weighed(after: SlotState) -> Reweighed:
    out = "0.011 mm over" if after is SlotState.OUT else None
    return Reweighed(
        "10-4/side=left",
        "Play: left",
        2,
        SlotState.IN,
        after,
        "0.041",
        "0.061",
        "mm",
        "max 0.05 mm",
        None,
        out,
    )


def unit(serial: str, where: str, *readings: RecalledReading, **rest: Any) -> RecalledUnit:
    known = Unit(serial, "step-stool", "A", "2", "0" * 64, NOW, None, None, "shipped", 3, "0" * 64)
    return RecalledUnit(known, where, rest.get("shipped", False), readings, (), rest.get("fitted_in", ()))


@pytest.fixture
def recalled() -> Recall:
    bad = unit(
        "ST2-1", "shipped to Aldermoor & Sons", reading(2, result=weighed(SlotState.OUT)), shipped=True,
        fitted_in=("BW-7",),
    )  # fmt: skip
    again = reading(3, "read again in #9")
    good = unit("ST2-2", "in stock at Bay 3", reading(2, result=weighed(SlotState.IN)), again)
    since, until = datetime(2026, 2, 2, tzinfo=UTC), datetime(2026, 11, 26, tzinfo=UTC)
    basis = "since its last good calibration on 2026-02-02"
    return Recall("IND-03", parse_error("-0.02 mm"), since, until, basis, (bad, good))


@pytest.fixture
def printing() -> Printing:
    return Printing(Settings(name="Marrowby Machine Works"), NOW, templates=templates())


SAID = [
    "Recall of gauge IND-03", "Dial <indicator>", "-0.02 mm", "2026-02-02 to 2026-11-25",
    "3 readings of 2 units: 2 decide, 1 read again later, 0 struck out", "1 unit, 1 slot",
    "0 still here, 1 shipped", "shipped to Aldermoor & Sons; fitted in BW-7", "0.061 mm", "in → out",
    "0.011 mm over", "ST2-2", "read again in #9",
]  # fmt: skip


def test_the_sheet_says_what_the_recall_says(recalled: Recall, printing: Printing) -> None:
    import pypdfium2

    sheet = recall_sheet(recalled, GAUGE, printing)
    assert sheet.findings == ()
    with pypdfium2.PdfDocument(sheet.pdf) as document:
        text = " ".join(page.get_textpage().get_text_bounded() for page in document)
    said = re.sub(r"\s+", " ", text)
    assert [value for value in SAID if value not in said] == []


def test_the_page_says_the_same_and_markup_in_names_stays_text(recalled: Recall, printing: Printing) -> None:
    page = recall_page(recalled, GAUGE, printing).decode()
    assert "Dial &lt;indicator&gt;" in page
    assert "Aldermoor &amp; Sons" in page
    assert "0.011 mm over" in page


def test_a_recall_that_changes_nothing_says_so(recalled: Recall, printing: Printing) -> None:
    nothing = Recall(
        "IND-03", recalled.error, None, recalled.until, "no good calibration before", recalled.units[1:]
    )
    view = recall_view(nothing, GAUGE, printing)
    assert (view["failing"], len(view["standing"])) == ((), 1)
    facts = dict(view["facts"])
    assert facts["time in question"] == "the beginning to 2026-11-25, no good calibration before"
    page = recall_page(nothing, GAUGE, printing).decode()
    assert "None. Every reading that counts is still accepted" in page
