"""Many slots in one line."""

from __future__ import annotations

from traveler.record.entry import Complained
from traveler.verdict.case import listed_slots


def test_slots_are_listed_by_step():
    assert listed_slots(["10-1"]) == "10-1"
    assert (
        listed_slots(["30-2/spindle=1", "30-2/spindle=2", "10/sign"])
        == "30-2 (spindle=1; spindle=2), 10 (sign)"
    )


def test_long_lists_are_cut():
    slots = [f"30-2/spindle={n}" for n in range(1, 9)]
    assert listed_slots(slots) == "30-2 (spindle=1; spindle=2; spindle=3; spindle=4; spindle=5; and 3 more)"
    assert listed_slots(slots, total=8) == "30-2 (all 8 positions)"
    assert listed_slots([f"{n}-1" for n in range(10, 90, 10)]) == "10-1, 20-1, 30-1, 40-1, 50-1, and 3 more"


def test_a_slot_named_twice_is_listed_once():
    assert listed_slots(["10-1", "10-1"]) == "10-1"


def test_entries_without_a_slot_are_listed_by_their_numbers(book):
    book.issue()
    for text in ("noise", "heat"):
        book.write(Complained(text=text), by="nobody")
    (found,) = book.found("PER001")
    assert found.what == "nobody in the shop has the id 'nobody' (entries #2, #3)"
