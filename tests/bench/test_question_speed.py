"""What is asked while a customer is on the phone, in a large store, as a multiple of the same in a small one.

The large store has 20,000 units and 4 million entries; building it takes minutes.
``TRAVELER_BENCH_UNITS=2000`` takes fewer.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType

import pytest

from traveler.jobs.open import open_session
from traveler.shop.session import Session
from traveler.trace.dossier.gather import dossier
from traveler.trace.history import history
from traveler.trace.judging import judge
from traveler.trace.where_used import where_used

NOW = datetime(2027, 1, 11, 8, 0, tzinfo=UTC)
SMALL = 200
LARGE = int(os.environ.get("TRAVELER_BENCH_UNITS", "20000"))
ENTRIES = 200
TRIES = 15


def best(ask: Callable[[], object]) -> float:
    """Milliseconds of the quickest of some tries: what others do to the machine meanwhile is not our cost."""
    times = []
    for _ in range(TRIES):
        start = time.perf_counter()
        ask()
        times.append(time.perf_counter() - start)
    return min(times) * 1000


def asked(session: Session, serial: str, lot: str) -> dict[str, Callable[[], int]]:
    """Question → what it answers; the number it gives is the size of the answer."""

    def life() -> int:
        with session.store.reading() as records:
            unit = records.unit(serial)
            assert unit is not None
            return len(history(unit, records.entries(serial)).lines)

    def whole() -> int:
        with session.store.reading() as records:
            found = dossier(session, records, judge(session, records, serial))
        return found.before + found.after + len(found.readings) + len(found.life)

    def used() -> int:
        with session.store.reading() as records:
            return len(where_used(records, "lot", lot))

    return {"life of a unit": life, "data of a dossier": whole, "where used by lot": used}


def measured(large_store: ModuleType, url: str, units: int, folder: Path) -> dict[str, tuple[float, int]]:
    """Question → milliseconds and size of the answer, about the first unit of the lot complained about."""
    built = large_store.build(url, units=units, entries=ENTRIES)
    opened = open_session(large_store.write_shop(folder, ENTRIES, url), NOW)
    assert opened.session is not None, opened.findings
    with opened.session.store:
        questions = asked(opened.session, built.complained[0], built.lot)
        return {name: (best(ask), ask()) for name, ask in questions.items()}


@pytest.mark.bench
@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_an_answer_of_equal_size_costs_the_same_in_a_large_store(large_store, new_store_url, kind, tmp_path):
    small = measured(large_store, new_store_url(kind), SMALL, tmp_path / "small")
    large = measured(large_store, new_store_url(kind), LARGE, tmp_path / "large")
    for name, (before, answer) in small.items():
        after, same = large[name]
        assert same == answer
        print(
            f"{kind}: {name}: {after:.1f} ms with {LARGE} units of {ENTRIES} entries, "
            f"{after / before:.2f} times that of {SMALL} units"
        )
