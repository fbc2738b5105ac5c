"""Readings on the units before and after one: the right window, and what stands in each slot."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import pytest
from sqlalchemy import insert, text

from traveler.record import tables
from traveler.record.entry import Read, Struck
from traveler.record.neighbours import readings_at
from traveler.record.store import Store
from traveler.record.trouble import StoreDamaged

SLOT = "10-4/spindle=1,end=near"


@dataclass
class Floor:
    """Issues units a minute apart and reads them."""

    store: Store
    samples: object

    def issue(self, serial: str, minute: int) -> None:
        draft = self.samples.issued(serial)
        draft = draft.model_copy(update={"at": draft.at + timedelta(minutes=minute)})
        with self.store.transaction() as tx:
            tx.issue(draft, draft.at)

    def write(self, serial: str, body: object, slot: str | None = SLOT, minute: int = 0) -> int:
        draft = self.samples.draft(serial, body, slot)
        draft = draft.model_copy(update={"at": draft.at + timedelta(minutes=minute)})
        with self.store.transaction() as tx:
            return tx.append(draft, draft.at).seq


def reading(value: str) -> Read:
    return Read(written=value, value=value, unit="mm", gauge="IND-03")


@pytest.fixture
def floor(store, samples) -> Floor:
    made = Floor(store, samples)
    for number in range(2, 8):
        made.issue(f"BW4-{number}", minute=number)
        made.write(f"BW4-{number}", reading(f"0.04{number}"))
    return made


def test_the_nearest_units_before_and_after_come_in_the_order_of_issue(floor):
    with floor.store.reading() as records:
        found = readings_at(records, "bobbin-winder", [SLOT], around="BW4-4", before=2, after=2)
    assert [one.serial for one in found.before] == ["BW4-2", "BW4-3"]
    assert [one.serial for one in found.after] == ["BW4-5", "BW4-6"]
    assert {serial: one.value for serial, one in found.readings[SLOT].items()} == {
        "BW4-2": "0.042", "BW4-3": "0.043", "BW4-5": "0.045", "BW4-6": "0.046",
    }  # fmt: skip


def test_units_issued_at_the_same_moment_are_told_apart_by_serial(floor):
    for serial in ("BW4-4A", "BW4-4B", "BW4-4C"):
        floor.issue(serial, minute=4)
    with floor.store.reading() as records:
        found = readings_at(records, "bobbin-winder", [SLOT], around="BW4-4B", before=2, after=2)
    assert [one.serial for one in found.before] == ["BW4-4", "BW4-4A"]
    assert [one.serial for one in found.after] == ["BW4-4C", "BW4-5"]


def test_the_last_reading_by_the_time_of_the_work_stands(floor):
    floor.write("BW4-3", reading("0.030"), minute=20)
    floor.write("BW4-3", reading("0.099"), minute=10)
    with floor.store.reading() as records:
        found = readings_at(records, "bobbin-winder", [SLOT], around="BW4-4")
    assert found.readings[SLOT]["BW4-3"].value == "0.030"


def test_a_reading_as_found_counts_only_where_there_is_none_as_left(floor):
    floor.write("BW4-3", reading("0.099").model_copy(update={"as_found": True}), minute=20)
    floor.write("BW4-5", reading("0.088").model_copy(update={"as_found": True}), "10-4/spindle=2,end=near")
    slots = [SLOT, "10-4/spindle=2,end=near"]
    with floor.store.reading() as records:
        found = readings_at(records, "bobbin-winder", slots, around="BW4-4").readings
    assert found[SLOT]["BW4-3"].value == "0.043"
    assert found[slots[1]]["BW4-5"].value == "0.088"


def test_a_struck_reading_does_not_stand_until_the_strike_out_is_struck(floor):
    wrong = floor.write("BW4-3", reading("0.990"), minute=5)
    strike = floor.write("BW4-3", Struck(strikes=wrong, reason="wrong spindle"), minute=6)
    with floor.store.reading() as records:
        assert readings_at(records, "bobbin-winder", [SLOT], around="BW4-4").readings[SLOT]["BW4-3"].seq == 2
    floor.write("BW4-3", Struck(strikes=strike, reason="was right after all"), minute=7)
    with floor.store.reading() as records:
        found = readings_at(records, "bobbin-winder", [SLOT], around="BW4-4").readings[SLOT]["BW4-3"]
    assert (found.seq, found.value, found.gauge) == (wrong, "0.990", "IND-03")


def test_other_slots_and_unknown_serials_bring_nothing(floor):
    with floor.store.reading() as records:
        assert readings_at(records, "bobbin-winder", ["99-1"], around="BW4-4").readings == {}
        assert readings_at(records, "bobbin-winder", [SLOT], around="BW4-99").before == ()
        assert readings_at(records, "potters-wheel", [SLOT], around="BW4-4").after == ()


def test_an_entry_that_is_none_is_called_damage(floor):
    broken = {
        "unit": "BW4-3", "seq": 99, "at": "2026-09-14T08:30:00.000000Z", "by": "tkiln", "slot": SLOT,
        "recorded": "2026-09-14T08:30:00.000000Z", "source": "tool", "kind": "read",
        "body": '{"kind":"read"}',
        "previous": "0" * 64, "hash": "0" * 64,
    }  # fmt: skip
    with floor.store.transaction() as tx:
        tx.ask(insert(tables.entry), [broken])
    with floor.store.reading() as records, pytest.raises(StoreDamaged, match="#99 of BW4-3"):
        readings_at(records, "bobbin-winder", [SLOT], around="BW4-4")


def test_the_units_are_found_by_index(floor, store_url):
    if not store_url.startswith("sqlite"):
        return
    plan = "EXPLAIN QUERY PLAN SELECT serial FROM unit WHERE product = 'x' AND issued <= 'y'"
    with floor.store.reading() as records:
        told = " ".join(str(row) for row in records.ask(text(plan)))
    assert "INDEX ix_unit_product_issued" in told
