"""The builder of large stores: what it builds is what the program would have written."""

from __future__ import annotations

from datetime import UTC, datetime

from traveler.jobs.open import open_session
from traveler.trace.judging import judge
from traveler.trace.verify import verify_records


def test_a_built_store_verifies_and_its_units_have_a_clean_verdict(large_store, store_url, tmp_path):
    built = large_store.build(store_url, units=60, entries=40)
    folder = large_store.write_shop(tmp_path / "large", 40, store_url)
    opened = open_session(folder, datetime(2024, 1, 10, tzinfo=UTC))
    assert opened.session is not None, opened.findings
    with opened.session.store as store:
        assert verify_records(opened.session).findings == ()
        with store.reading() as records:
            judged = [judge(opened.session, records, serial) for serial in built.serials]
            high = records.units_using("lot", built.lot)
            entries = records.entries(built.serials[0])
    assert [item.verdict.findings for item in judged if item.unit.state == "shipped"] == [()] * 57
    assert {str(item.verdict.state) for item in judged} == {"shipped", "in stock"}
    assert all(str(item.verdict.state) == item.unit.state for item in judged)
    assert {unit.serial for unit in high} == set(built.lot_units)
    assert set(built.complained) <= set(built.lot_units)
    assert len(entries) == 40
    assert sum(item.unit.entries for item in judged) == built.entries


def test_the_same_request_gives_the_same_records(large_store, tmp_path):
    heads = []
    for name, processes in (("a.db", 1), ("b.db", 3)):
        built = large_store.build(f"sqlite:///{tmp_path / name}", units=12, entries=30, processes=processes)
        with large_store.Store.open(built.url) as store, store.reading() as records:
            heads.append([unit.head for unit in records.units()])
    assert heads[0] == heads[1]
    assert len(set(heads[0])) == 12
