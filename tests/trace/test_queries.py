"""How much a gauge was used, and where: answered from the index, whatever else is in the store."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import text

from traveler.record.entry import Draft, Issued, Read, Struck
from traveler.record.records import IssuedDefinition
from traveler.record.store import Store
from traveler.trace.queries import GaugeUse, read_with, used_gauges, used_since

NOW = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)
CONTENT = '{"title":"Winder"}'
DIGEST = hashlib.sha256(CONTENT.encode()).hexdigest()


def reading(unit: str, gauge: str, minutes: int) -> Draft:
    body = Read(written="0.041 mm", value="0.041", unit="mm", gauge=gauge)
    return Draft(unit=unit, at=NOW + timedelta(minutes=minutes), by="tkiln", slot="10-4", body=body)


@pytest.fixture
def store(store_url: str) -> Iterator[Store]:
    """Two units: U1 read with IND-03 at 0 and 10 minutes (the second struck out), U2 at 20, and with TW-1."""
    with Store.open(store_url) as opened:
        with opened.transaction() as work:
            work.put_definition(IssuedDefinition("winder", "D", DIGEST, CONTENT, NOW))
            for unit in ("U1", "U2"):
                body = Issued(product="winder", revision="D", variant="4", digest=DIGEST)
                work.issue(Draft(unit=unit, at=NOW, by="rhale", body=body), NOW)
            work.append_all([reading("U1", "IND-03", 0), reading("U1", "ind-03", 10)], NOW)
            work.append(Draft(unit="U1", at=NOW, by="tkiln", body=Struck(strikes=3, reason="slip")), NOW)
            work.append_all([reading("U2", "IND-03", 20), reading("U2", "TW-1", 21)], NOW)
        yield opened


def test_every_gauge_is_counted_with_its_units(store: Store) -> None:
    with store.reading() as records:
        assert used_gauges(records) == {"IND-03": GaugeUse(3, 2), "TW-1": GaugeUse(1, 1)}


def test_the_use_since_a_moment_is_by_when_it_was_read(store: Store) -> None:
    with store.reading() as records:
        assert used_since(records, "IND-03", NOW) == GaugeUse(3, 2)
        assert used_since(records, "ind-03", NOW + timedelta(minutes=10)) == GaugeUse(2, 2)
        assert used_since(records, "IND-03", NOW + timedelta(minutes=21)) == GaugeUse(0, 0)


def test_the_readings_in_a_span_begin_with_its_first_moment_and_end_before_its_last(store: Store) -> None:
    with store.reading() as records:
        assert read_with(records, "IND-03", None, NOW + timedelta(hours=1)) == {"U1": {2, 3}, "U2": {2}}
        first, last = NOW + timedelta(minutes=10), NOW + timedelta(minutes=20)
        assert read_with(records, "IND-03", first, last) == {"U1": {3}}
        assert read_with(records, "IND-04", None, last) == {}


def test_nothing_is_looked_for_entry_by_entry(tmp_path) -> None:
    """What SQLite says it does: a search in the index of references, then each entry by its key."""
    asked = (
        "EXPLAIN QUERY PLAN SELECT ref.unit, ref.seq FROM ref JOIN entry ON ref.unit = entry.unit "
        "AND ref.seq = entry.seq WHERE ref.kind = 'gauge' AND ref.value = 'IND-03' AND entry.at < 'x' "
        "ORDER BY ref.unit, ref.seq"
    )
    with Store.open(f"sqlite:///{tmp_path / 'records.db'}") as opened, opened.reading() as records:
        steps = [str(row[3]) for row in records.ask(text(asked))]
    assert steps
    assert [step for step in steps if step.startswith("SCAN")] == []
    assert any("ref" in step and "kind=? AND value=?" in step for step in steps)
