"""Recalling a gauge: what a reading costs, against reading it back alone, and as the store grows.

.venv/bin/pytest -m bench -s tests/bench/test_gauge_recall.py
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from time import process_time

import pytest

from traveler.jobs.open import open_session
from traveler.record.entry import Read
from traveler.trace.recall import Recall, RecallRequest, recall

pytestmark = pytest.mark.bench

NOW = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)
SMALL, LARGE = 150, 900


@dataclass(frozen=True)
class Measured:
    found: Recall
    whole: float
    bare: float

    @property
    def each(self) -> float:
        """Seconds for one reading."""
        return self.whole / self.found.counts()["readings"]


@pytest.fixture
def measured(large_store, tmp_path):
    """A function that builds a store of so many units and recalls its wrong gauge."""

    def measure(units: int) -> Measured:
        folder = large_store.write_shop(tmp_path / f"shop-{units}", 200)
        built = large_store.build(f"sqlite:///{folder / 'records.db'}", units=units, entries=200)
        session = open_session(folder, NOW).session
        assert session is not None
        with session.store as store:
            began = process_time()
            found = recall(session, RecallRequest(built.gauge, "-0.003 mm", date(2020, 1, 1)))
            whole = process_time() - began
            began = process_time()
            with store.reading() as records:
                again = sum(
                    isinstance(entry.body, Read) for entry in records.where_used("gauge", built.gauge)
                )
            bare = process_time() - began
        assert again == found.counts()["readings"]
        return Measured(found, whole, bare)

    return measure


def test_recalling_a_gauge(measured):
    small, large = measured(SMALL), measured(LARGE)
    counts = large.found.counts()
    print(
        f"\n{counts['readings']:,} readings of {counts['units']:,} units in {large.whole:.2f} s (processor)"
    )
    print(f"a reading: {large.each * 1e6:.0f} µs; {large.whole / large.bare:.1f} times reading it back alone")
    print(f"{LARGE} against {SMALL} units, for each reading: {large.each / small.each:.2f}")
    print(f"100,000 readings at this rate: {large.each * 1e5:.1f} s")
    assert counts["deciding"] == counts["readings"]
