"""The units before and after one: the right window, and what stands in each of their slots."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import pytest
from sqlalchemy import text

from traveler.record.entry import Read, Struck
from traveler.record.errors import StoreDamaged
from traveler.record.light import LightEntry, last_readings, light_entries, neighbors
from traveler.record.store import Store

SLOT, OTHER = "10-4/spindle=1,end=near", "10-4/spindle=2,end=near"


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


def window(floor: Floor, around: str, before: int = 50, after: int = 50) -> tuple[list[str], list[str]]:
    with floor.store.reading() as records:
        found = neighbors(records, "bobbin-winder", around, before, after)
    return tuple([unit.serial for unit in side] for side in found)


def stands(floor: Floor, serial: str, slot: str = SLOT) -> dict[str, object] | None:
    """What the reading that stands in the slot says."""
    with floor.store.reading() as records:
        seen = light_entries(records, [serial], ("read",)).get(serial, ())
    found = last_readings(seen).get(slot)
    return None if found is None else {"seq": found.seq, **found.says()}


def test_the_nearest_units_before_and_after_come_in_the_order_of_issue(floor):
    assert window(floor, "BW4-4", 2, 2) == (["BW4-2", "BW4-3"], ["BW4-5", "BW4-6"])
    assert window(floor, "BW4-2") == (["BW4-1"], ["BW4-3", "BW4-4", "BW4-5", "BW4-6", "BW4-7"])
    assert window(floor, "BW4-4", 0, 1) == ([], ["BW4-5"])


def test_units_issued_at_the_same_moment_are_told_apart_by_serial(floor):
    for serial in ("BW4-4A", "BW4-4B", "BW4-4C"):
        floor.issue(serial, minute=4)
    assert window(floor, "BW4-4B", 2, 2) == (["BW4-4", "BW4-4A"], ["BW4-4C", "BW4-5"])


def test_other_products_and_unknown_serials_have_no_neighbours(floor):
    assert window(floor, "BW4-99") == ([], [])
    with floor.store.reading() as records:
        assert neighbors(records, "potters-wheel", "BW4-4") == ((), ())


def test_the_last_reading_by_the_time_of_the_work_stands(floor):
    floor.write("BW4-3", reading("0.030"), minute=20)
    floor.write("BW4-3", reading("0.099"), minute=10)
    assert stands(floor, "BW4-3")["value"] == "0.030"


def test_a_reading_as_found_counts_only_where_there_is_none_as_left(floor):
    floor.write("BW4-3", reading("0.099").model_copy(update={"as_found": True}), minute=20)
    floor.write("BW4-5", reading("0.088").model_copy(update={"as_found": True}), OTHER)
    assert stands(floor, "BW4-3")["value"] == "0.043"
    assert stands(floor, "BW4-5", OTHER)["value"] == "0.088"
    assert stands(floor, "BW4-6", OTHER) is None


def test_a_struck_reading_does_not_stand_until_the_strike_out_is_struck(floor):
    wrong = floor.write("BW4-3", reading("0.990"), minute=5)
    strike = floor.write("BW4-3", Struck(strikes=wrong, reason="wrong spindle"), minute=6)
    assert stands(floor, "BW4-3")["seq"] == 2
    floor.write("BW4-3", Struck(strikes=strike, reason="was right after all"), minute=7)
    found = stands(floor, "BW4-3")
    assert (found["seq"], found["value"], found["gauge"]) == (wrong, "0.990", "IND-03")


def test_units_without_an_entry_of_the_kinds_are_left_out(floor):
    with floor.store.reading() as records:
        found = light_entries(records, ["BW4-2", "BW4-1", "BW4-99"], ("read",))
        assert light_entries(records, [], ("read",)) == {}
    assert list(found) == ["BW4-2"]
    assert found["BW4-2"][0].moment() == floor.samples.now


def test_an_entry_that_is_none_is_called_damage(floor):
    for body in ("no JSON", "[]"):
        broken = LightEntry("BW4-3", 99, "never", "tkiln", SLOT, "read", body)
        with pytest.raises(StoreDamaged, match="#99 of BW4-3"):
            broken.says()
        with pytest.raises(StoreDamaged, match="#99 of BW4-3"):
            broken.moment()


def test_the_units_are_found_by_index(tmp_path):
    """On SQLite, which says how it will look."""
    plan = "EXPLAIN QUERY PLAN SELECT serial FROM unit WHERE product = 'x' AND issued <= 'y'"
    with Store.open(f"sqlite:///{tmp_path / 'plan.db'}") as store, store.reading() as records:
        told = " ".join(str(row) for row in records.ask(text(plan)))
    assert "INDEX ix_unit_product_issued" in told
