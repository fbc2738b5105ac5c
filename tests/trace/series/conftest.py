"""Lives of the units of a year, read once."""

import pytest

from traveler.jobs.plans_of import Plans
from traveler.jobs.statistics import weigher_of
from traveler.trace.asking import Wanted, entries_of, pieces
from traveler.trace.series.unit_life import KINDS, unit_life


@pytest.fixture(scope="session")
def lives(year):
    """Serial → life, in the order in which the units were built."""
    found = {}
    with year.store.reading() as records:
        plans, weigher = Plans(records), weigher_of(year)
        for piece in pieces(records, Wanted("skein-reel")):
            for unit, entries in entries_of(records, piece, kinds=KINDS):
                found[unit.serial] = unit_life(unit, plans.plan(unit, entries), entries, weigher)
    return dict(sorted(found.items(), key=lambda one: one[1].unit.issued))


@pytest.fixture
def collect(lives):
    """Everything collected, narrowed as asked."""
    from traveler.trace.series.collect import Collector, Narrowed

    def go(**narrowed):
        collector = Collector(Narrowed(**narrowed))
        for life in lives.values():
            collector.add(life)
        return collector

    return go
