"""The printed record: a traveler as it was filled in, with everything that happened still legible."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from io import BytesIO

import pikepdf
import pytest

from traveler.definition.plan import Adjustment, Plan, PlanLimits, StepKind
from traveler.record.entry import (
    Adjusted,
    Body,
    Confirmed,
    Decided,
    Entry,
    Fitted,
    Noted,
    Photographed,
    Read,
    Released,
    Signed,
    Stopped,
    Struck,
    Ticked,
    Witnessed,
)
from traveler.sheets.pdf import codes as corners
from traveler.sheets.record import record_pdf
from traveler.sheets.sheet import Sheet, UnitHeader
from traveler.sheets.traveler import traveler_pdf
from traveler.shop.gauges import Calibration, Gauge, GaugeRegister
from traveler.shop.people import People, Person, RoleHeld
from traveler.verdict.case import Case, OutsideFacts
from traveler.verdict.judge import judge_case

START = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
LATER = START + timedelta(days=4)
LIMITS = PlanLimits(text="max 0.05 mm", unit="mm", upper="0.05", decimals=2)
NAMES = {"tkiln": "Tess Kiln", "qmoor": "Quentin Moor"}
PEOPLE = People(
    people=tuple(
        Person(id=text, name=name, roles=(RoleHeld(role=role, since=date(2020, 1, 1)),))
        for (text, name), role in zip(NAMES.items(), ("assembler", "quality"), strict=True)
    )
)
GAUGES = GaugeRegister(
    gauges=tuple(
        Gauge(
            id=literal, kind="indicator", title="Dial indicator", interval_days=180, uncertainty="0.0001 mm",
            resolution="0.0001 mm", calibrations=(Calibration(on=date(2026, 8, 1)),),
        )
        for literal in ("IND-03", "IND-77")
    )
)  # fmt: skip


def reading(written: str, **more: object) -> Read:
    return Read(written=written, value=written.split(maxsplit=1)[0], unit="mm", gauge="IND-03", **more)  # type: ignore[arg-type]


@dataclass
class Pen:
    """Writes entries one after the other, three minutes apart."""

    unit: str
    entries: list[Entry] = field(default_factory=list)

    def write(self, body: Body, slot: str | None = None, by: str = "tkiln", late: int = 0) -> int:
        seq = len(self.entries) + 1
        at = START + timedelta(minutes=3 * seq)
        self.entries.append(
            Entry(
                unit=self.unit, at=at, by=by, slot=slot, body=body, seq=seq,
                recorded=at + timedelta(days=late), previous="0" * 64, hash=f"{seq:064x}",
            )
        )  # fmt: skip
        return seq

    def strike(self, seq: int, reason: str, by: str = "qmoor") -> int:
        return self.write(Struck(strikes=seq, reason=reason), self.entries[seq - 1].slot, by)


@pytest.fixture(scope="module")
def plan(step, plan_of) -> Plan:
    adjust = Adjustment(rule="text", text="Turn the bush.")
    return plan_of(
        (
            step("10", 1, StepKind.DO, "Bolt it."),
            step("10", 2, StepKind.MEASURE, "Run-out", at={"spindle": 4}, limits=LIMITS, adjust=adjust),
            step("10", 3, StepKind.MEASURE, "Gap", limits=LIMITS, adjust=adjust),
            step("10", 4, StepKind.FIT, "Motor", trace="serial"),
            step("10", 5, StepKind.CONFIRM, "No burrs."),
            step("10", 6, StepKind.PHOTO, "Open crate."),
            step("10", 7, StepKind.WITNESS, "Guard closed.", role="quality"),
            step("10", 8, StepKind.MEASURE, "Height", at={"foot": 4}, limits=LIMITS),
            step("10", 9, StepKind.MEASURE, "Slope", limits=LIMITS),
            step("10", 10, StepKind.CONFIRM, "Paint whole."),
        )
    )


Print = Callable[..., Sheet]


@pytest.fixture(scope="module")
def print_it(plan, unit: UnitHeader, settings) -> Print:
    """Judges what a pen wrote and prints the record."""

    def render(pen: Pen, language: str = "") -> Sheet:
        judged = judge_case(Case(
            unit.serial, plan, tuple(pen.entries), gauges=GAUGES, people=PEOPLE,
            settings=settings, now=LATER, facts=OutsideFacts(),
        ))  # fmt: skip
        return record_pdf(plan, unit, judged, pen.entries, settings, LATER, people=PEOPLE, language=language)

    return render


@pytest.fixture
def pen(unit) -> Pen:
    return Pen(unit.serial)


LONG_SERIAL = "MOTOR/" + "1234567890" * 15 + "-END"
LONG_NOTE = " ".join(f"word{number}" for number in range(900))


@pytest.fixture(scope="module")
def eventful(unit) -> Pen:
    """A unit with whatever may happen to one."""
    pen = Pen(unit.serial)
    pen.write(Ticked(), "10-1", late=3)
    pen.write(reading("0.90", as_found=True), "10-2/spindle=3")
    for turn in range(5):
        pen.write(Adjusted(done=f"bush, round {turn}", amount="1/4 turn", followed=True), "10-2/spindle=3")
        pen.write(reading(f"0.0{8 - turn}1"), "10-2/spindle=3")
    pen.strike(pen.write(reading("0.61"), "10-3"), "Read at the wrong spindle.")
    pen.write(reading("0.0405 mm"), "10-3")
    pen.write(Fitted(trace="serial", value=LONG_SERIAL), "10-4")
    pen.write(Confirmed(yes=False), "10-5")
    pen.write(Photographed(name="crate.jpg", file="ab" * 32), "10-6")
    pen.write(Witnessed(), "10-7", by="qmoor")
    for foot in (1, 2, 3):
        pen.write(reading("0.04"), f"10-8/foot={foot}")
    pen.write(Read(written="0.04", value="0.04", unit="mm", gauge="IND-77"), "10-8/foot=4", by="rhale")
    pen.write(reading("0.061"), "10-9")
    stop = pen.write(Stopped(what="Slope is out."), "10-9", by="qmoor")
    pen.write(Decided(stop=stop, decision="use_as_is", concession="CON-17"), "10-9", by="qmoor")
    pen.write(Confirmed(), "10-10")
    pen.write(Stopped(what="Guard is missing."), None)
    pen.write(Stopped(what=LONG_NOTE.replace("word", "stop")), "10-2/spindle=1")
    pen.write(Noted(text=f"{LONG_NOTE} \u691c \U0001f600"), "10-3")
    pen.write(Signed(), "10/sign")
    return pen


@pytest.fixture(scope="module")
def sheet(eventful, print_it) -> Sheet:
    made = print_it(eventful)
    assert made.printed, made.findings
    return made


@pytest.fixture(scope="module")
def text(sheet, reader) -> str:
    """The text of the record with single spaces."""
    return " ".join(reader(sheet.pdf).text().split())


@pytest.fixture(scope="module")
def runs(text) -> str:
    """The same without any spaces: where long words were broken does not matter."""
    return text.replace(" ", "")


def test_a_record_has_no_form_and_says_of_when_it_is(eventful, sheet, text, runs, reader):
    assert "Record as of 2026-11-29 08:00 (Europe/London)" in text
    assert f"Entries: {len(eventful.entries)}. Last link of their chain:" in text
    assert eventful.entries[-1].hash in runs
    assert "copy 1" not in text
    assert reader(sheet.pdf).boxes() == []
    with pikepdf.open(BytesIO(sheet.pdf)) as pdf:
        assert "/AcroForm" not in pdf.Root


def test_the_plan_and_every_entry_lie_inside(eventful, plan, sheet):
    with pikepdf.open(BytesIO(sheet.pdf)) as pdf:
        files = {name: spec.get_file().read_bytes() for name, spec in pdf.attachments.items()}
    assert Plan.model_validate_json(files["plan.json"]) == plan
    assert [Entry.model_validate(load) for load in json.loads(files["entries.json"])] == eventful.entries


def test_readings_stand_as_they_were_written_as_found_and_as_left(text):
    grid = text[text.index("spindle 1 2 3 4") :]
    assert grid[:80].startswith("spindle 1 2 3 4 mm #29 0.041 #3 #4 +7")
    assert "as found 0.90" in grid[:120]
    assert "0.0405 mm" in text


def test_five_rounds_of_adjusting_are_all_told(text):
    for turn in range(5):
        assert f"10-2, spindle 3 adjusted: bush, round {turn}, 1/4 turn, followed tkiln" in text
    for number in (8, 7, 6, 5):
        assert f"10-2, spindle 3 read 0.0{number}1, with IND-03" in text
    assert "0.041 #3 #4 +7" in text  # in the box: where the first ones are told, and how many more


def test_what_was_struck_out_stays_legible_with_who_and_why(text):
    assert "0.61 0.0405 mm" in text
    corrections = text[text.index("Corrections") :]
    assert "#13 10-3 read 0.61, with IND-03 tkiln" in corrections
    assert "Read at the wrong spindle. #14 qmoor" in corrections


def test_what_was_struck_out_is_drawn_through(sheet, reader):
    read = reader(sheet.pdf)
    page = next(number for number, text in enumerate(read.texts()) if "0.61" in text)
    signs = [character for character in read.characters() if character.page == page]
    start = "".join(sign.name for sign in signs).index("0.61")
    first, last = signs[start], signs[start + 3]
    scale, pixels = 300 / 72, read.pixels(page, 300)
    middle = pixels.shape[0] - round((first.bottom + first.top) / 2 * scale)
    left, right = round((first.left - 0.5) * scale), round((last.right + 0.5) * scale)
    band = pixels[middle - 7 : middle + 8, left:right]
    assert (band < 128).all(axis=1).any()  # one line of ink across all four characters


def test_a_reading_that_is_out_says_so_in_a_word_and_that_it_was_conceded(text):
    assert "0.061 mm OUT CONCESSION" in text
    assert text.count("CONCESSION") == 2  # and in the legend
    assert text.count("OUT ") == 3  # with the statement not confirmed


def test_an_entry_recorded_late_is_marked_and_listed(text):
    assert "#1 10-1 done tkiln 2026-11-25 08:03 2026-11-28 08:03" in text
    assert text.count("LATE") == 2  # in the legend, beside the box


def test_another_person_or_gauge_than_the_steps_usual_stands_beside_the_box(text):
    assert text.count("IND-77 rhale") == 1
    assert text.count("rhale") == 2  # and in the list of people


def test_signatures_have_id_name_day_and_time(text):
    assert text.count("tkiln Tess Kiln") == 3  # on the cover, in the operation, in the list of people
    assert "qmoor Quentin Moor" in text
    assert "2026-11-25 08:54 quality" not in text
    assert "date, time" in text


def test_stops_and_what_was_decided_stand_on_the_cover(text):
    cover = text[: text.index("page 2 of")]
    for told in ("10-9 #25", "Slope is out.", "use as is, concession CON-17", "the unit #28", "not decided"):
        assert told in cover


def test_nothing_too_long_is_lost(runs):
    assert LONG_SERIAL in runs
    assert all(f"word{number}" in runs for number in range(900))
    assert all(f"stop{number}" in runs for number in range(900))


def test_a_photograph_is_told_with_its_digest(runs):
    assert f"photographcrate.jpg,SHA-256{'ab' * 32}" in runs


def test_a_statement_found_not_so_is_no_tick(text):
    assert "no yes" in text  # what was written, and the word that stands beside the box
    assert "✓ yes" in text  # the other statement


def test_a_character_the_fonts_lack_is_spelled_and_does_not_stop_the_print(sheet, text):
    assert [finding.code for finding in sheet.findings] == ["SHT001", "SHT001"]
    assert "[U+691C] [U+1F600]" in text


def test_the_record_of_a_unit_with_nothing_in_it_prints_the_same_bytes_each_time(pen, print_it):
    first = print_it(pen)
    assert first.printed, first.findings
    assert first.pdf == print_it(pen).pdf


def test_pages_stay_clean_whatever_happened(sheet, reader, clean_pages):
    clean_pages(reader(sheet.pdf), "A4")


def test_pages_stay_clean_whatever_was_written(pen, print_it, reader, clean_pages):
    long = "inspector-with-a-very-long-name"
    for spindle in (1, 2, 3, 4):
        pen.write(reading("0.0412345678901234567890 mm", as_found=True), f"10-2/spindle={spindle}", late=2)
        struck = pen.write(reading("W" * 30), f"10-2/spindle={spindle}", by=long)
        pen.strike(struck, "W" * 1000, by=long)
        pen.write(reading("9.0412345678"), f"10-2/spindle={spindle}", by=long, late=2)
    pen.write(Signed(), "10/sign", by=long, late=2)
    pen.write(Witnessed(), "10-7", by=long)
    pen.write(Stopped(what="W" * 3000), "10-2/spindle=3", by=long)
    pen.write(Fitted(trace="serial", value="W" * 400), "10-4", by=long)
    pen.write(Released(head="3c9d" * 16, count=9), by=long)
    sheet = print_it(pen)
    assert sheet.printed, sheet.findings
    clean_pages(reader(sheet.pdf), "A4")


def test_a_spanish_record_speaks_spanish(pen, print_it, reader):
    pen.write(Ticked(), "10-1", late=2)
    text = " ".join(reader(print_it(pen, language="es").pdf).text().split())
    assert "Registro a fecha de 2026-11-29 08:00" in text
    assert "TARDE" in text
    assert "LATE" not in text


def test_a_record_longer_than_there_are_corner_marks_prints_all_the_same(
    monkeypatch, pen, plan, print_it, unit, settings, reader
):
    monkeypatch.setattr(corners, "MOST_PAGES", 1)
    sheet = print_it(pen)
    assert sheet.printed, sheet.findings
    pages = reader(sheet.pdf)
    assert len(pages) > 1
    darkest = [pages.pixels(number)[:80, :80].min() for number in range(len(pages))]
    assert darkest[0] < 50
    assert all(item > 200 for item in darkest[1:])
    assert [finding.code for finding in traveler_pdf(plan, unit, settings, LATER).findings] == ["SHT005"]
