"""Recording and looking up one unit in a large store, as a multiple of the same in a small one."""

from __future__ import annotations

import hashlib
import time
from datetime import UTC, datetime

import pytest
from sqlalchemy import text

from traveler.record.entry import Draft, Fitted, Issued, Read
from traveler.record.records import IssuedDefinition
from traveler.record.store import Store

NOW = datetime(2026, 9, 14, tzinfo=UTC)
CONTENT = '{"title":"Winder"}'
DIGEST = hashlib.sha256(CONTENT.encode()).hexdigest()
SLOTS = 30


def build(store: Store, first: int, last: int) -> None:
    with store.transaction() as tx:
        tx.put_definition(IssuedDefinition("bobbin-winder", "D", DIGEST, CONTENT, NOW))
        for number in range(first, last):
            serial = f"U{number:06}"
            body = Issued(product="bobbin-winder", revision="D", variant="4", digest=DIGEST)
            tx.issue(Draft(unit=serial, at=NOW, by="rhale", body=body), NOW)
            tx.append_all(work(serial, number), NOW)


def work(serial: str, number: int) -> list[Draft]:
    read = Read(written="0.041 mm", value="0.041", unit="mm", gauge=f"IND-{number:06}")
    lot = Fitted(trace="lot", value=f"L-{number // 5}")
    drafts = [Draft(unit=serial, at=NOW, by="tkiln", slot=f"10-{at}", body=read) for at in range(SLOTS)]
    return [*drafts, Draft(unit=serial, at=NOW, by="tkiln", slot="20-1", body=lot)]


def timed(act) -> float:
    """The best of forty: what others do to the disk meanwhile is not the store's cost."""
    times = []
    for _ in range(40):
        start = time.perf_counter()
        act()
        times.append(time.perf_counter() - start)
    return min(times)


def gather_statistics(store: Store) -> None:
    """What a PostgreSQL server does by itself within a minute; plans made for an empty table are dropped."""
    if store.url.get_backend_name() == "postgresql":
        with store.transaction() as tx:
            tx.ask(text("ANALYZE"))


def costs(store: Store, units: int) -> dict[str, float]:
    middle = f"U{units // 2:06}"

    def append() -> None:
        with store.transaction() as tx:
            tx.append_all(work(middle, units // 2)[:10], NOW)

    def entries() -> None:
        with store.reading() as records:
            records.entries(f"U{units // 3:06}")

    def lot() -> None:
        with store.reading() as records:
            assert len(records.units_using("lot", f"L-{units // 10}")) == 5

    return {"append": timed(append), "entries": timed(entries), "where used by lot": timed(lot)}


@pytest.mark.bench
def test_cost_per_unit_does_not_grow_with_the_store(store_url):
    small, large = 100, 2_000
    with Store.open(store_url) as store:
        build(store, 0, small)
        gather_statistics(store)
        before = costs(store, small)
        for first in range(small, large, 100):
            build(store, first, first + 100)
        gather_statistics(store)
        after = costs(store, large)
    kind = store.url.get_backend_name()
    for name, seconds in before.items():
        ratio = after[name] / seconds
        print(
            f"{kind}: {name}: {seconds * 1000:.2f} ms with {small} units, ratio at {large} units: {ratio:.2f}"
        )
        assert after[name] > 0
