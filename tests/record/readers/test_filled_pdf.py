"""A filled sheet: the values of its boxes, whatever they look like."""

from __future__ import annotations

import io

import pikepdf
import pytest

from traveler.record.entry import Counted, Noted, Read, Stopped, Ticked
from traveler.record.readers.files import read_results
from traveler.record.stored import to_entry


def read(desk, boxes, ticks=(), **more):
    return desk.read(desk.pdf(boxes, ticks), "traveler.pdf", **more)


def test_a_number_alone_is_read_in_the_unit_printed_beside_the_box(desk):
    (draft,) = read(desk, {"10-4/spindle=1,end=near": "0,041", "10-4#gauge": "ind-03"}).drafts
    assert draft.body == Read(written="0,041", value="0.041", unit="mm", gauge="IND-03", unit_from="sheet")


def test_a_unit_written_into_the_box_counts(desk):
    (draft,) = read(desk, {"10-4/spindle=1,end=near": "0.0016 in"}).drafts
    assert (draft.body.unit, draft.body.unit_from) == ("in", "written")


@pytest.mark.parametrize("state", ["on", "Yes", "1", "x"])
def test_any_state_but_off_is_a_tick(desk, state):
    drafts = read(desk, {"10-1": state}, ("10-1",)).drafts
    assert [draft.body for draft in drafts] == [Ticked()]
    assert read(desk, {"10-1": "Off"}, ("10-1",)).drafts == ()


def test_as_found_comes_before_the_reading_that_stands(desk):
    boxes = {"10-4/spindle=1,end=near": "0.04", "10-4/spindle=1,end=near#found": "0.06"}
    assert [(draft.body.value, draft.body.as_found) for draft in read(desk, boxes).drafts] == [
        ("0.06", True),
        ("0.04", False),
    ]


def test_a_count_stands_in_three_boxes_or_in_one(desk):
    assert read(desk, {"10-8": "12"}).drafts[0].body == Counted(good=12)
    three = read(desk, {"10-8": "12", "10-8#rework": "1", "10-8#scrap": "2"})
    assert three.drafts[0].body == Counted(good=12, rework=1, scrap=2)
    assert [finding.code for finding in read(desk, {"10-8": "12", "10-8#rework": "some"}).findings] == [
        "RES034"
    ]


def test_steps_without_initials_are_by_whoever_signed_the_operation(desk):
    boxes = {
        "10-1": "on",
        "10-6": "on",
        "10-6#by": "IMORA",
        "10/sign": "tkiln",
        "10/sign#at": "2026-09-14 10:50",
    }
    drafts = read(desk, boxes, ("10-1", "10-6"), by="office").drafts
    assert [(draft.slot, draft.by) for draft in drafts] == [
        ("10-1", "tkiln"),
        ("10-6", "imora"),
        ("10/sign", "tkiln"),
    ]
    assert len({draft.at for draft in drafts}) == 1


def test_a_sheet_filled_in_further_adds_only_what_is_new(desk):
    """The first time keyed by the office and unsigned, the second time signed by the assembler."""
    from traveler.record import chain

    half = read(desk, {"10-1": "on"}, ("10-1",), by="office")
    already = (to_entry(chain.link_row(half.drafts[0], 1, chain.GENESIS, desk.now)),)
    boxes = {"10-1": "on", "10-6": "on", "10/sign": "tkiln", "10/sign#at": "2026-09-14 10:50"}
    whole = read(desk, boxes, ("10-1", "10-6"), already=already)
    assert [count.slot for count in whole.drafts] == ["10-6", "10/sign"]
    assert whole.known == 1


def test_a_stop_written_on_the_sheet_stops_the_unit(desk):
    boxes = {"stop#1-step": "10-6", "stop#1-what": "burr", "stop#2-step": "paint", "stop#2-what": "scratched"}
    drafts = read(desk, boxes).drafts
    assert [(draft.slot, draft.body) for draft in drafts] == [
        ("10-6", Stopped(what="burr")), (None, Stopped(what="paint: scratched")),
    ]  # fmt: skip


def test_a_spare_line_becomes_a_note(desk):
    boxes = {
        "spare#1-what": "Belt",
        "spare#1-value": "tight",
        "spare#1-by": "imora",
        "spare#1-at": "2026-09-14 10:00",
    }
    (draft,) = read(desk, boxes).drafts
    assert (draft.by, draft.body) == ("imora", Noted(text="Belt: tight"))


def test_what_is_not_taken_over_is_told(desk):
    boxes = {"10-1#by": "tkiln", "stop#1-decided": "use as is", "10/sign#open": "2"}
    understood = read(desk, boxes)
    assert [(finding.code, finding.weight) for finding in understood.findings] == [
        ("RES014", "warning"), ("RES015", "note"), ("RES015", "warning"),
    ]  # fmt: skip
    assert understood.drafts == ()


@pytest.mark.parametrize(
    ("boxes", "code", "box"),
    [
        ({"10-1": "0.05"}, "RES030", "10-1"),
        ({"10-99": "x"}, "RES042", "10-99"),
        ({"10-1#colour": "red"}, "RES013", "10-1#colour"),
        ({"10-4/spindle=1,end=near": "good"}, "RES031", "10-4/spindle=1,end=near"),
        ({"10-1": "x", "10-1#at": "noon"}, "RES020", "10-1#at"),
        ({"unit#serial": "BW4-2637-0002-L"}, "RES040", "unit#serial"),
        ({"unit#digest": "e" * 64}, "RES041", "unit#digest"),
        ({"10-2": "M\x07"}, "RES006", "10-2"),
    ],
)
def test_a_wrong_box_is_named(desk, boxes, code, box):
    findings = read(desk, boxes).findings
    assert [(finding.code, finding.place.slot) for finding in findings] == [(code, box)]
    assert findings[0].what.startswith(f"box {box}: ")
    assert read(desk, boxes).drafts == ()


def nested(pdf):
    """A field below a parent, with its value in the parent's kid, and a widget without a name."""
    kid = pikepdf.Dictionary(T="1", V="on", Kids=pikepdf.Array([pikepdf.Dictionary()]))
    return pikepdf.Dictionary(T="10-1", FT=pikepdf.Name.Tx, Kids=pikepdf.Array([kid]))


def made(change) -> bytes:
    pdf = pikepdf.new()
    pdf.add_blank_page()
    change(pdf)
    content = io.BytesIO()
    pdf.save(content)
    return content.getvalue()


def form(*fields):
    def change(pdf):
        whole = [pdf.make_indirect(field(pdf) if callable(field) else field) for field in fields]
        pdf.Root.AcroForm = pikepdf.Dictionary(Fields=pikepdf.Array(whole))

    return change


def looped(pdf):
    field = pdf.make_indirect(pikepdf.Dictionary(T="a"))
    field.Kids = pikepdf.Array([field, field])
    pdf.Root.AcroForm = pikepdf.Dictionary(Fields=pikepdf.Array([field]))


def form_of_none(pdf):
    """No form at all."""


def locked() -> bytes:
    pdf = pikepdf.new()
    pdf.add_blank_page()
    content = io.BytesIO()
    pdf.save(content, encryption=pikepdf.Encryption(owner="o", user="u"))
    return content.getvalue()


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"%PDF-1.7\nnothing more", "RES010"),
        (b"not a PDF", "RES016"),
        (made(form_of_none), "RES011"),
        (made(form()), "RES011"),
        (made(looped), "RES011"),
        (made(form(nested)), "RES013"),
        (made(form(pikepdf.Dictionary(T="10-1", V=pikepdf.Array([1])))), "RES010"),
        (made(form(pikepdf.Dictionary(T="10-1", V="a"), pikepdf.Dictionary(T="10-1", V="b"))), "RES012"),
        (locked(), "RES010"),
    ],
)
def test_a_file_that_is_no_filled_traveler_is_refused(content, code):
    codes = {finding.code for finding in read_results(content, "t.pdf").findings}
    assert code in codes or (code == "RES013" and not codes)


def test_the_look_of_a_box_never_counts(desk):
    """An appearance that shows a tick, with a value that says Off."""
    pdf = pikepdf.open(io.BytesIO(desk.pdf({"10-1": "Off"}, ("10-1",))))
    pdf.Root.AcroForm.Fields[3].AS = pikepdf.Name("/on")
    content = io.BytesIO()
    pdf.save(content)
    assert desk.read(content.getvalue(), "t.pdf").drafts == ()
