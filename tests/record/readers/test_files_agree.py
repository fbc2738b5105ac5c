"""The same results as CSV, as YAML and as a filled PDF give the same entries."""

from __future__ import annotations

from datetime import UTC, datetime

from traveler.record import chain
from traveler.record.entry import (
    Confirmed,
    Counted,
    Fitted,
    Packed,
    Photographed,
    Read,
    Signed,
    Ticked,
    Witnessed,
)
from traveler.record.stored import to_entry

CSV = [
    "10-1,x,,,tkiln,2026-09-14 10:00,,",
    "10-2,M-100,,,tkiln,2026-09-14 10:00,,",
    "10-3,HEAT 77,,,tkiln,2026-09-14 10:00,,",
    '"10-4/spindle=1,end=near",0.062,mm,IND-03,tkiln,2026-09-14 10:20,yes,',
    '"10-4/spindle=1,end=near",0.041,mm,IND-03,tkiln,2026-09-14 10:20,,',
    '"10-4/spindle=1,end=far",0.038,mm,IND-03,tkiln,2026-09-14 10:20,,',
    "10-6,yes,,,tkiln,2026-09-14 10:30,,",
    "10-7,imora,,,,2026-09-14 10:40,,",
    "10-8,12 good 1 rework 0 scrap,,,tkiln,2026-09-14 10:45,,",
    "10/sign,tkiln,,,,2026-09-14 10:50,,",
    "C-1,open.jpg,,,jpack,2026-09-14 11:00,,",
    "C-2/item=1,ok,,,jpack,2026-09-14 11:05,,",
    "C-3,48.3,kg,SCALE-1,jpack,2026-09-14 11:10,,",
    "C/sign,jpack,,,,2026-09-14 11:15,,",
]
YAML = """\
  10-1: {value: yes, by: tkiln, at: "2026-09-14 10:00"}
  10-2: {value: M-100, by: tkiln, at: "2026-09-14 10:00"}
  10-3: {value: HEAT 77, by: tkiln, at: "2026-09-14 10:00"}
  "10-4/spindle=1,end=near":
    - {value: 0.062 mm, gauge: IND-03, by: tkiln, at: 2026-09-14T10:20+02:00, as_found: true}
    - {value: 0.041 mm, gauge: IND-03, by: tkiln, at: 2026-09-14T10:20+02:00}
  10-4/spindle=1,end=far: {value: 0.038, unit: mm, gauge: IND-03, by: tkiln, at: 2026-09-14T08:20Z}
  10-6: {value: yes, by: tkiln, at: 2026-09-14 10:30}
  10-7: {value: imora, at: 2026-09-14 10:40}
  10-8: {value: 12/1/0, by: tkiln, at: 2026-09-14 10:45}
  10/sign: {value: tkiln, at: 2026-09-14 10:50}
  C-1: {value: open.jpg, by: jpack, at: 2026-09-14 11:00}
  C-2/item=1: {value: x, by: jpack, at: 2026-09-14 11:05}
  C-3: {value: 48.3 kg, gauge: SCALE-1, by: jpack, at: 2026-09-14 11:10}
  C/sign: {value: jpack, at: 2026-09-14 11:15}
"""
PDF = {
    "10/sign": "tkiln", "10/sign#at": "2026-09-14 10:50",
    "10-1": "on", "10-1#by": "tkiln", "10-1#at": "2026-09-14 10:00",
    "10-2": "M-100", "10-2#by": "tkiln", "10-2#at": "2026-09-14 10:00",
    "10-3": "HEAT 77", "10-3#by": "TKILN", "10-3#at": "2026-09-14 10:00",
    "10-4/spindle=1,end=near": "0.041", "10-4/spindle=1,end=far": "0.038",
    "10-4/spindle=1,end=near#found": "0.062",
    "10-4#gauge": "ind-03", "10-4#by": "tkiln", "10-4#at": "2026-09-14 10:20",
    "10-6": "on", "10-6#by": "tkiln", "10-6#at": "2026-09-14 10:30",
    "10-7": "imora", "10-7#at": "2026-09-14 10:40",
    "10-8": "12", "10-8#rework": "1", "10-8#scrap": "0", "10-8#by": "tkiln", "10-8#at": "2026-09-14 10:45",
    "C-1": "open.jpg", "C-1#by": "jpack", "C-1#at": "2026-09-14 11:00",
    "C-2/item=1": "on", "C-2#by": "jpack", "C-2#at": "2026-09-14 11:05",
    "C-3": "48.3", "C-3#gauge": "SCALE-1", "C-3#by": "jpack", "C-3#at": "2026-09-14 11:10",
    "C/sign": "jpack", "C/sign#at": "2026-09-14 11:15",
    "10-5": "", "stop#1-what": "",
}  # fmt: skip
TICKS = ("10-1", "10-6", "C-2/item=1")


def files(desk):
    return {
        "results.csv": desk.csv(*CSV),
        "results.yaml": desk.yaml(YAML),
        "traveler.pdf": desk.pdf(PDF, TICKS),
    }


def bare(draft):
    """A draft without how it came and how it was written."""
    body = draft.body
    if isinstance(body, Read):
        body = body.model_copy(update={"written": "", "unit_from": "written"})
    return draft.model_copy(update={"source": "tool", "body": body})


def test_three_kinds_of_file_say_the_same(desk):
    read = {file: desk.read(content, file) for file, content in files(desk).items()}
    assert {file: item.findings for file, item in read.items()} == dict.fromkeys(read, ())
    csv, yaml, pdf = ([bare(draft) for draft in item.drafts] for item in read.values())
    assert csv == yaml == pdf
    assert {file: {draft.source for draft in item.drafts} for file, item in read.items()} == {
        "results.csv": {"file"}, "results.yaml": {"file"}, "traveler.pdf": {"pdf"},
    }  # fmt: skip


def test_every_slot_gets_the_entry_it_asks_for(desk):
    drafts = desk.read(desk.csv(*CSV)).drafts
    assert [draft.body for draft in drafts] == [
        Ticked(),
        Fitted(trace="serial", value="M-100", number="P-2007"),
        Fitted(trace="lot", value="HEAT 77", number="P-3001"),
        Read(written="0.062", value="0.062", unit="mm", gauge="IND-03", as_found=True, unit_from="column"),
        Read(written="0.041", value="0.041", unit="mm", gauge="IND-03", unit_from="column"),
        Read(written="0.038", value="0.038", unit="mm", gauge="IND-03", unit_from="column"),
        Confirmed(yes=True),
        Witnessed(),
        Counted(good=12, rework=1, scrap=0),
        Signed(),
        Photographed(name="open.jpg"),
        Packed(),
        Read(written="48.3", value="48.3", unit="kg", gauge="SCALE-1", unit_from="column"),
        Signed(),
    ]
    assert drafts[0].at == datetime(2026, 9, 14, 8, 0, tzinfo=UTC)
    assert [draft.by for draft in drafts[7:10]] == ["imora", "tkiln", "tkiln"]
    assert {draft.zone for draft in drafts} == {"Europe/Madrid"}


def test_what_one_file_recorded_another_kind_adds_nothing_to(desk):
    for first, content in files(desk).items():
        entries, previous = [], chain.GENESIS
        for seq, draft in enumerate(desk.read(content, first).drafts, 1):
            entries.append(to_entry(chain.link_row(draft, seq, previous, desk.now)))
            previous = entries[-1].hash
        for second, other in files(desk).items():
            again = desk.read(other, second, already=tuple(entries))
            assert (again.drafts, again.findings, again.known) == ((), (), 14), (first, second)
