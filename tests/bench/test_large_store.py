"""The builder of large stores: what it builds is what the program would have written."""

from __future__ import annotations

from datetime import UTC, datetime

from traveler.jobs.judge import judge
from traveler.jobs.opening import open_office
from traveler.jobs.verify import verify


def test_a_built_store_verifies_and_its_units_have_a_clean_verdict(large_store, store_url, tmp_path):
    built = large_store.build(store_url, units=60, entries=40)
    folder = large_store.write_shop(tmp_path / "large", 40, store_url)
    opened = open_office(folder, datetime(2024, 1, 10, tzinfo=UTC))
    assert opened.office is not None, opened.findings
    with opened.office.store as store:
        assert verify(opened.office).findings == ()
        with store.reading() as records:
            judged = [judge(opened.office, records, serial) for serial in built.serials]
            high = records.units_using("lot", built.lot)
            entries = records.entries(built.serials[0])
    assert [one.verdict.findings for one in judged if one.unit.state == "shipped"] == [()] * 57
    assert {str(one.verdict.state) for one in judged} == {"shipped", "in stock"}
    assert all(str(one.verdict.state) == one.unit.state for one in judged)
    assert {one.serial for one in high} == set(built.lot_units)
    assert set(built.complained) <= set(built.lot_units)
    assert len(entries) == 40
    assert sum(one.unit.entries for one in judged) == built.entries


def test_the_same_request_gives_the_same_records(large_store, tmp_path):
    heads = []
    for name, processes in (("a.db", 1), ("b.db", 3)):
        built = large_store.build(f"sqlite:///{tmp_path / name}", units=12, entries=30, processes=processes)
        with large_store.Store.open(built.url) as store, store.reading() as records:
            heads.append([one.head for one in records.units()])
    assert heads[0] == heads[1]
    assert len(set(heads[0])) == 12
