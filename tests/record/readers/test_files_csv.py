"""CSV as spreadsheets and people write it: what is taken, and what is refused, with its place."""

from __future__ import annotations

import pytest

from traveler.record.entry import Confirmed, Noted, Read, Ticked
from traveler.record.readers.files import read_results

READING = '"10-4/spindle=1,end=near",{},{},IND-03,,,,'


def reading(desk, value, unit=""):
    return desk.read(desk.csv(READING.format(value, unit)))


@pytest.mark.parametrize(
    ("value", "unit", "expected", "unit_read"),
    [
        ("0.050 mm", "", "0.050", "mm"),
        ("0.050", "mm", "0.050", "mm"),
        ('"0,05"', "mm", "0.05", "mm"),
        ('"0,05 mm"', "", "0.05", "mm"),
        ("5e-2", "mm", "0.05", "mm"),
        ("0.002 in", "", "0.002", "in"),
        ("0.050 mm", "mm", "0.050", "mm"),
        ("41", "\u03bcm", "41", "µm"),
        ("'-0.01", "mm", "-0.01", "mm"),
        ("0.041\u00a0mm", "", "0.041", "mm"),
        ("  0.041  ", " mm ", "0.041", "mm"),
    ],
)
def test_a_reading_is_understood_with_every_digit(desk, value, unit, expected, unit_read):
    understood = reading(desk, value, unit)
    assert understood.findings == ()
    (draft,) = understood.drafts
    assert (draft.body.value, draft.body.unit) == (expected, unit_read)


@pytest.mark.parametrize(
    ("value", "unit", "code", "told"),
    [
        ("0.05", "", "RES031", "UNT001"),
        ('"1,250"', "mm", "RES031", "NUM002"),
        ("O.05 mm", "", "RES031", "NUM001"),
        ("yes", "mm", "RES031", "NUM001"),
        ("0.05 bananas", "", "RES031", "UNT002"),
        ("0.05 kg", "", "RES032", "limits are max 0.05 mm"),
        ("0.002 in", "mm", "RES033", "the reading says in"),
        ("0.002 in", "furlongs?", "RES033", "the reading says in"),
    ],
)
def test_a_reading_that_is_none_is_refused_and_says_why(desk, value, unit, code, told):
    (finding,) = reading(desk, value, unit).findings
    assert (finding.code, str(finding.place)) == (code, "results.csv:5:2")
    assert told in finding.what
    assert reading(desk, value, unit).drafts == ()


@pytest.mark.parametrize(
    "word", ["x", "X", "yes", "YES", "ok", "✓", "✔", "sí", "Si", "TRUE", "on", "done", "hecho"]
)
def test_a_tick_has_many_words(desk, word):
    (draft,) = desk.read(desk.csv(f"10-1,{word},,,,,,")).drafts
    assert draft.body == Ticked()


@pytest.mark.parametrize("word", ["", "no", "FALSE", "☐", "-", "falso"])
def test_a_box_that_is_not_ticked_records_nothing(desk, word):
    understood = desk.read(desk.csv(f"10-1,{word},,,,,,"))
    assert (understood.drafts, understood.findings) == ((), ())


def test_a_confirmation_may_say_no(desk):
    (draft,) = desk.read(desk.csv("10-6,no,,,,,,")).drafts
    assert draft.body == Confirmed(yes=False)


@pytest.mark.parametrize(
    ("row", "code", "cell"),
    [
        ("10-1,0.05,,,,,,", "RES030", 2),
        ("10-1,1,,,,,,", "RES030", 2),
        ("10-6,maybe,,,,,,", "RES030", 2),
        ("10-8,some,,,,,,", "RES034", 2),
        ("10-8,1 scrap,,,,,,", "RES034", 2),
        ("10-8,1 good 2 good,,,,,,", "RES034", 2),
        ("10-8,-3,,,,,,", "RES034", 2),
        ("10-9,x,,,,,,", "RES042", 1),
        ("10-4/spindle=1,end=near,0.041,mm,IND-03,,,,", "RES042", 1),
        (",x,,,,,,", "RES042", 1),
        ("10-1,x,mm,,,,,", "RES046", 3),
        ("10-1,x,,IND-03,,,,", "RES046", 4),
        ("10-1,x,,,,,yes,", "RES046", 7),
        ("10-1,x,,,T. Kiln!,,,", "RES045", 5),
        ("10-1,x,,,,yesterday,,", "RES020", 6),
        ("10-1,x,,,,14/09/2026 10:20,,", "RES020", 6),
        ("10-1,x,,,,2026-09-14,,", "RES020", 6),
        ("10-1,x,,,,2026-02-30 10:20,,", "RES020", 6),
        ("10-1,x,,,,2026-03-29 02:30,,", "RES021", 6),
        ("10-1,x,,,,2026-10-25 02:30,,", "RES021", 6),
        ("10/sign,tkiln,,,rhale,,,", "RES047", 2),
        ('"10-4/spindle=1,end=far",0.04,mm,,,,perhaps,', "RES048", 7),
        ("10-1,x,,,,,,,extra", "RES005", 9),
        ("10-1,x\x07,,,,,,", "RES006", 2),
    ],
)
def test_a_wrong_cell_is_told_with_line_and_cell(desk, row, code, cell):
    content = desk.csv("10-2,M-100,,,,,,", row)
    assert (code, f"results.csv:6:{cell}") in desk.found(content)


def test_every_problem_of_a_file_is_told_at_once_and_nothing_is_taken(desk):
    content = desk.csv(
        "10-1,x,,,,,,", "10-1,0.05,,,,,,", "10-99,x,,,,,,", READING.format("0.05", ""), "10-6,perhaps,,,,,,"
    )
    assert [code for code, _ in desk.found(content)] == ["RES030", "RES042", "RES031", "RES030"]


def test_an_unknown_slot_is_told_the_nearest_one(desk):
    (finding,) = desk.read(desk.csv('"10-4/spindle=1,end=nera",0.04,mm,,,,,')).findings
    assert finding.hint == "did you mean '10-4/spindle=1,end=near'?"


@pytest.mark.parametrize("mangled", ["10-Jan", "10-jan.", "Jan-10", "10-ene"])
def test_a_slot_that_a_spreadsheet_took_for_a_date_is_found_again(desk, mangled):
    (draft,) = desk.read(desk.csv(f"{mangled},x,,,,,,")).drafts
    assert draft.slot == "10-1"


@pytest.mark.parametrize("sign", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_separators_encodings_and_line_ends_of_spreadsheets(desk, sign, encoding, newline):
    lines = [f"# serial: {desk.serial}" + sign * 3, "", sign.join(["slot", "value", "unit", "note"])]
    lines.append(sign.join(['"10-4/spindle=1,end=near"', '"0,041"', "µm", '"two\nlines; and, more"']))
    understood = desk.read(newline.join(lines).encode(encoding))
    assert understood.findings == ()
    read, note = understood.drafts
    assert (read.body.value, read.body.unit) == ("0.041", "µm")
    assert note.body == Noted(text="two\nlines; and, more")


@pytest.mark.parametrize(
    ("content", "code", "place"),
    [
        (b"", "RES003", "r.csv:1:1"),
        (b"\n \n,,\n", "RES003", "r.csv:1:1"),
        (b"# serial: A\n", "RES003", "r.csv:1:1"),
        (b"label,value\nx,y\n", "RES004", "r.csv:1:1"),
        (b"slot,label\n10-1,y\n", "RES004", "r.csv:1:1"),
        (b"slot,valeu\n10-1,x\n", "RES004", "r.csv:1:2"),
        (b"slot,value,value\n10-1,x,x\n", "RES004", "r.csv:1:3"),
        (b'slot,value\n10-1,"x\n10-2,y\n', "RES003", "r.csv:2:1"),
        (b'slot,value\n10-1,"x"y\n', "RES003", "r.csv:2:1"),
        (b"slot,value\n10-1,\xb5m\n", "RES001", "r.csv:2:6"),
        (b"\xff\xfes\x00l\x00", "RES004", "r.csv:1:1"),
        (b"\xff\xfes\x00l\x00o", "RES001", "r.csv:1:3"),
        (b"slot,value\n10-1,a\x00b\n", "RES006", "r.csv:2:2"),
        (b"# serial: A\n# serial: B\nslot,value\n", "RES007", "r.csv:2:1"),
        (b"slot,value\n" + b"x" * 200_000 + b",y\n", "RES003", "r.csv:2:1"),
        (b"#" * 5_000_001, "RES002", "r.csv:1:1"),
    ],
)
def test_a_file_that_is_no_table_is_refused_with_its_place(content, code, place):
    found = [(finding.code, str(finding.place)) for finding in read_results(content, "r.csv").findings]
    assert (code, place) in found


def test_a_file_of_another_unit_revision_or_digest_is_refused(desk):
    def codes(head):
        return [code for code, _ in desk.found(desk.csv("10-1,x,,,,,,", head=head))]

    assert codes("") == ["RES040"]
    assert codes("# serial: BW4-2637-0002-L\n") == ["RES040"]
    assert codes(f"# serial: {desk.serial.lower()}\n") == []
    assert codes(f"# serial: {desk.serial}\n# revision: C\n") == ["RES041"]
    assert codes(f"# serial: {desk.serial}\n# digest: {'e' * 64}\n") == ["RES041"]


def test_who_and_when_come_from_the_row_then_the_head_then_the_signature_then_the_command(desk):
    rows = [
        "10-1,x,,,,,,",
        "10-6,yes,,,imora,2026-09-14 10:00,,",
        "C-2/item=1,x,,,,,,",
        "10/sign,tkiln,,,,2026-09-14 11:00,,",
    ]
    drafts = {
        draft.slot: (draft.by, draft.at.strftime("%H:%M"))
        for draft in desk.read(desk.csv(*rows), by="office").drafts
    }
    assert drafts == {
        "10-1": ("tkiln", "09:00"), "10-6": ("imora", "08:00"), "C-2/item=1": ("office", "15:00"),
        "10/sign": ("tkiln", "09:00"),
    }  # fmt: skip
    head = f"# serial: {desk.serial}\n# by: rhale\n# at: 2026-09-14 12:00\n"
    drafts = {
        draft.slot: (draft.by, draft.at.strftime("%H:%M"))
        for draft in desk.read(desk.csv(*rows, head=head)).drafts
    }
    assert drafts == {
        "10-1": ("rhale", "10:00"), "10-6": ("imora", "08:00"), "C-2/item=1": ("rhale", "10:00"),
        "10/sign": ("tkiln", "09:00"),
    }  # fmt: skip


def test_a_result_of_nobody_is_refused(desk):
    assert desk.found(desk.csv("10-1,x,,,,,,"), by=None) == [("RES044", "results.csv:5:2")]


def test_a_slot_is_filled_once_but_read_as_often_as_the_readings_differ(desk):
    twice = desk.csv("10-1,x,,,,,,", "10-1,yes,,,,,,")
    assert desk.found(twice) == [("RES043", "results.csv:6:2")]
    again = desk.csv(
        READING.format("0.06", "mm"), READING.format("0.04", "mm"), READING.format("0.040", "mm")
    )
    assert [draft.body.value for draft in desk.read(again).drafts] == ["0.06", "0.04", "0.040"]
    copied = desk.csv(READING.format("0.06", "mm"), READING.format("0.06", "mm"))
    assert desk.found(copied) == [("RES043", "results.csv:6:2")]


def test_a_worked_out_value_is_not_taken_but_told(desk):
    understood = desk.read(desk.csv("10-1,x,,,,,,", "10-5,0.003,mm,,,,,"))
    assert [(finding.code, finding.weight) for finding in understood.findings] == [("RES035", "warning")]
    assert [draft.slot for draft in understood.drafts] == ["10-1"]


def test_label_and_limits_are_for_the_eyes_and_a_trailing_empty_column_does_no_harm(desk):
    columns = "slot,label,limits,value,unit,gauge,by,at,as_found,note,,"
    row = '"10-4/spindle=1,end=near","=HYPERLINK(""x"")",max 9 kg,0.04,mm,IND-03,,,,,,'
    (draft,) = desk.read(desk.csv(row, columns=columns)).drafts
    assert draft.body == Read(written="0.04", value="0.04", unit="mm", gauge="IND-03", unit_from="column")
