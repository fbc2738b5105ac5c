"""Reports of the year's product, worked out once."""

from functools import cache

import pytest

from traveler.trace.stats.product_report import StatisticsRequest, statistics


@pytest.fixture(scope="session")
def report_of(year):
    """The report of the product or of one check."""

    @cache
    def go(check=None, **asked):
        return statistics(year, StatisticsRequest("skein-reel", check, **asked))

    return go
