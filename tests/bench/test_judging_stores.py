"""Judging every unit of stores of 100, 1,000 and 10,000: what one costs, against one in the smallest.

Everything counts: reading rows, verifying the chain, looking up parts and lots, the verdict, its line.
"""

from __future__ import annotations

import resource
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import make_url

from traveler.cli.unit import Show
from traveler.jobs.open import open_session
from traveler.trace.judging import every_serial, judge_all

ENTRIES = 60
NOW = datetime(2028, 1, 10, tzinfo=UTC)
SHOW = Show(json_wanted=False, slots=False)


@pytest.fixture(scope="module")
def smallest() -> dict[str, float]:
    """Database → what a unit cost in the smallest store."""
    return {}


def memory() -> float:
    """The most that this process ever held, in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


@pytest.mark.bench
@pytest.mark.parametrize("units", [100, 1_000, 10_000])
def test_the_cost_of_a_unit_does_not_grow_with_the_store(
    units: int, large_store: Any, store_url: str, tmp_path: Path, smallest: dict[str, float]
) -> None:
    kind = make_url(store_url).get_backend_name()
    folder = large_store.write_shop(tmp_path / "large", ENTRIES)
    large_store.build(store_url, units=units, entries=ENTRIES)
    opened = open_session(folder, NOW, database=store_url)
    assert opened.session is not None
    with opened.session.store:
        serials = every_serial(opened.session)
        for _ in judge_all(opened.session, serials[:20], SHOW, processes=1):
            pass  # what is looked up once is looked up
        passes, judged = max(1, 1_000 // units), 0
        begun, wall, before = time.process_time(), time.perf_counter(), memory()
        for _ in range(passes):
            judged += sum(1 for _ in judge_all(opened.session, serials, SHOW, processes=1))
        took = (time.process_time() - begun) / judged * 1e6
        wall, after = time.perf_counter() - wall, memory()
        spread = time.perf_counter()
        assert sum(1 for _ in judge_all(opened.session, serials, SHOW, processes=2)) == units
        spread = time.perf_counter() - spread
    assert judged == units * passes
    ratio = took / smallest.setdefault(kind, took)
    print(
        f"\n{kind}: {units:>6,} units of {ENTRIES} entries: {took:,.0f} µs of processor time each, ratio "
        f"{ratio:.2f}; {judged / wall:,.0f} units/s by one process, {units / spread:,.0f}/s by two; "
        f"memory grew by {after - before:.1f} MB"
    )
