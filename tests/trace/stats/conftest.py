"""Published check values (``tests/reference``), and the readings of a year."""

import csv
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest
import yaml

from traveler.record.plans import Plans
from traveler.trace.queries import UnitFilter, entries_of, unit_batches
from traveler.trace.stats.product_report import StatisticsRequest, statistics, weigher_of
from traveler.trace.stats.unit_readings import STATISTICS_KINDS, unit_readings

REFERENCE = Path(__file__).parents[2] / "reference"


def cases(*files: str) -> list[dict]:
    """Every case of those files; all scalars stay text, so no digit is lost."""
    found = []
    for name in files:
        text = (REFERENCE / name).read_text(encoding="utf-8")
        found += yaml.load(text, Loader=yaml.CBaseLoader)["cases"]  # noqa: S506 - BaseLoader only makes text
    return found


def column(name: str) -> list[dict[str, str]]:
    with (REFERENCE / "strd" / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """``case_of_<op>`` stands for every case of that op, one test each."""
    for name in metafunc.fixturenames:
        if name.startswith("case_of_"):
            op = name.removeprefix("case_of_")
            chosen = [case for case in cases("spc.yaml") if case["op"] == op]
            assert chosen, f"no case for {op}"
            metafunc.parametrize(name, chosen, ids=[case["id"] for case in chosen])
    for name, file in (("univariate", "strd_univariate.yaml"), ("anova", "strd_anova.yaml")):
        if name in metafunc.fixturenames:
            chosen = cases(file)
            metafunc.parametrize(name, chosen, ids=[case["id"] for case in chosen])


@pytest.fixture
def strd():
    """The rows of a NIST data set by file name."""
    return column


@pytest.fixture
def close():
    """Whether two numbers differ by no more than a tolerance, all taken exactly."""

    def within(found: object, expected: object, tolerance: object) -> bool:
        return abs(Decimal(str(found)) - Decimal(str(expected))) <= Decimal(str(tolerance))

    return within


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


@pytest.fixture(scope="session")
def report_of(year):
    """The report of the product or of one check."""

    @cache
    def go(check=None, **asked):
        return statistics(year, StatisticsRequest("skein-reel", check, **asked))

    return go
