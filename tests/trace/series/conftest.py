"""Lives of the units of a year, read once."""

import pytest

from traveler.record.plans import Plans
from traveler.trace.queries import UnitFilter, entries_of, unit_batches
from traveler.trace.stats.product_report import weigher_of
from traveler.trace.stats.unit_readings import STATISTICS_KINDS, unit_readings


@pytest.fixture(scope="session")
def lives(year):
    """Serial → life, in the order in which the units were built."""
    found = {}
    with year.store.reading() as records:
        plans, weigher = Plans(records), weigher_of(year)
        for piece in unit_batches(records, UnitFilter("skein-reel")):
            for unit, entries in entries_of(records, piece, kinds=STATISTICS_KINDS):
                found[unit.serial] = unit_readings(unit, plans.plan(unit, entries), entries, weigher)
    return dict(sorted(found.items(), key=lambda item: item[1].unit.issued))


@pytest.fixture
def collect(lives):
    """Everything collected, narrowed as asked."""
    from traveler.trace.stats.series import Collector, Narrowed

    def go(**narrowed):
        collector = Collector(Narrowed(**narrowed))
        for life in lives.values():
            collector.add(life)
        return collector

    return go
