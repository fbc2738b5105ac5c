"""What looking at a week costs as the store grows, and whether an export's memory does.

``watch`` looks at the units issued last, so its cost should not grow with the store; an export reads every
unit, so its memory should not.
"""

from __future__ import annotations

import time
import tracemalloc
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from traveler.jobs.open import open_session
from traveler.shop.session import Session
from traveler.trace.export import ExportRequest, export_readings
from traveler.trace.queries import UnitFilter, newest_units
from traveler.trace.stats.product_report import StatisticsRequest, statistics
from traveler.trace.watch import watch

SMALL, LARGE = 200, 1000
ENTRIES = 60


def opened(large_store: ModuleType, folder: Path, units: int) -> Session:
    """A shop with so many units, at the end of its last unit's work."""
    large_store.write_shop(folder, ENTRIES, "sqlite:///records.db")
    large_store.build(f"sqlite:///{folder / 'records.db'}", units=units, entries=ENTRIES, processes=2)
    done = open_session(folder, large_store.FIRST_DAY)
    assert done.session is not None, done.findings
    with done.session.store.reading() as records:
        last = newest_units(records, UnitFilter(), 1)[0]
    return replace(done.session, now=last.issued + timedelta(days=1))


def seconds(act: Any) -> float:
    """The best of three."""
    times = []
    for _ in range(3):
        begun = time.perf_counter()
        act()
        times.append(time.perf_counter() - begun)
    return min(times)


def peak(act: Any) -> int:
    """The most memory held at a time, in bytes."""
    tracemalloc.start()
    act()
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return most


@pytest.mark.bench
def test_watching_and_exporting_do_not_grow_with_the_store(large_store: ModuleType, tmp_path: Path) -> None:
    sessions = {units: opened(large_store, tmp_path / str(units), units) for units in (SMALL, LARGE)}
    acts = {
        "watch, a week": lambda opened: watch(opened, opened.now - timedelta(days=7)),
        "statistics of one check, the last 200 units": lambda opened: statistics(
            opened, StatisticsRequest("cone-winder", "check-1", last=200)
        ),
    }
    for name, act in acts.items():
        few, many = (seconds(lambda opened=session, act=act: act(opened)) for session in sessions.values())
        print(f"{name}: {few:.2f} s with {SMALL} units, ratio at {LARGE}: {many / few:.2f}")
        assert many > 0
    for ending in ("csv", "sqlite"):
        few, many = (
            peak(lambda opened=session, units=units, ending=ending: export_readings(
                opened, ExportRequest(tmp_path / f"{units}.{ending}")
            ))
            for units, session in sessions.items()
        )  # fmt: skip
        said = f"{few / 1e6:.1f} MB at most with {SMALL} units"
        print(f"export to {ending}: {said}, ratio at {LARGE}: {many / few:.2f}")
        assert many > 0
    for session in sessions.values():
        session.store.close()
