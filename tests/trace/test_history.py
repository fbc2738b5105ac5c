"""A unit's life: everything, in the order of the work, struck entries marked."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from traveler.record.chain import GENESIS, link_row
from traveler.record.entry import (
    Body,
    Draft,
    Entry,
    Issued,
    Noted,
    Placed,
    Read,
    Shipped,
    Stopped,
    Struck,
    Ticked,
    struck_by,
)
from traveler.record.records import Unit
from traveler.record.stored import to_entry
from traveler.shop.settings import Settings
from traveler.trace.history import history, whereabouts

START = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)
ISSUED = Issued(product="step-stool", revision="A", variant="2", digest="0" * 64)


def chain(*bodies: tuple[int, Body] | Body, zone: str = "Europe/Dublin") -> tuple[Entry, ...]:
    """Entries in this order; a number before a body is the minute it was done at."""
    entries: list[Entry] = []
    for number, said in enumerate(bodies):
        minute, body = said if isinstance(said, tuple) else (number, said)
        draft = Draft(
            unit="U", at=START + timedelta(minutes=minute), zone=zone, by="tkiln", slot="10-1", body=body
        )
        entries.append(to_entry(link_row(draft, number + 1, entries[-1].hash if entries else GENESIS, START)))
    return tuple(entries)


def unit(state: str, entries: tuple[Entry, ...]) -> Unit:
    return Unit(
        "U", "step-stool", "A", "2", "0" * 64, START, None, None, state, len(entries), entries[-1].hash
    )


def test_lines_stand_in_the_order_of_the_work_not_of_the_recording() -> None:
    entries = chain(ISSUED, (30, Noted(text="later")), (10, Ticked()), (10, Noted(text="with it")))
    found = history(unit("building", entries), entries)
    assert [line.entry.seq for line in found.lines] == [1, 3, 4, 2]


def test_struck_entries_are_there_and_name_what_struck_them() -> None:
    entries = chain(ISSUED, Ticked(), Struck(strikes=2, reason="wrong unit"))
    found = history(unit("issued", entries), entries)
    assert [(line.entry.seq, line.struck_by) for line in found.lines] == [(1, None), (2, 3), (3, None)]
    assert found.lines[2].text == "struck out #2: wrong unit"


def test_a_strike_that_was_itself_struck_out_strikes_nothing() -> None:
    entries = chain(ISSUED, Ticked(), Struck(strikes=2, reason="a"), Struck(strikes=3, reason="b"))
    assert struck_by(entries) == {3: 4}


def test_what_cannot_be_struck_is_not_shown_as_struck() -> None:
    entries = chain(
        ISSUED, Stopped(what="cracked"), Struck(strikes=2, reason="a"), Struck(strikes=1, reason="b")
    )
    assert struck_by(entries) == {}


def test_the_answer_in_json_holds_every_field_of_every_entry() -> None:
    reading = Read(written="0.050 mm", value="0.050", unit="mm", gauge="IND-03")
    entries = chain(ISSUED, reading)
    told = history(unit("building", entries), entries).as_dict()
    assert told["entries"][1] == {  # type: ignore[index]
        **entries[1].model_dump(mode="json"),
        "label": "", "text": "read 0.050 mm, with IND-03", "struck_by": None, "late_hours": None,
    }  # fmt: skip
    assert (told["head"], told["count"]) == (entries[1].hash, 2)


def test_where_it_is_names_the_last_place_that_stands() -> None:
    entries = chain(ISSUED, Placed(place="Bay 1"), Placed(place="Bay 2"), Struck(strikes=3, reason="no"))
    assert whereabouts("in stock", entries).text == "in stock at Bay 1"


def test_the_day_of_shipment_is_that_of_the_shops_wall() -> None:
    late = (15 * 60, Shipped(customer="Aldermoor Weavers"))  # 23:00 in UTC is the next day in Auckland
    entries = chain(ISSUED, late, zone="Pacific/Auckland")
    assert whereabouts("shipped", entries).text == "shipped to Aldermoor Weavers on 2026-11-03"


def test_before_that_the_state_says_it() -> None:
    assert whereabouts("building", chain(ISSUED, Placed(place="Bay 1"))).text == "building"


def test_what_was_recorded_long_after_the_work_is_marked() -> None:
    entries = chain(ISSUED, Noted(text="in time"), Noted(text="late"), Noted(text="on the dot"))
    at = entries[0].at
    told = [
        entry.model_copy(update={"at": at, "recorded": at + timedelta(hours=hours)})
        for entry, hours in zip(entries, (0, 1, 49, 24), strict=True)
    ]
    settings = Settings(name="Marrowby Machine Works")
    lines = history(unit("building", told), told, settings=settings).lines
    assert [line.late for line in lines] == [None, None, timedelta(hours=49), None]
    assert [line.as_dict()["late_hours"] for line in lines] == [None, None, 49, None]
    assert all(line.late is None for line in history(unit("building", told), told).lines)
