"""An open office of the small shop, its clock in the test's hands, and a floor that fills in results."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from traveler.definition.plan import Plan
from traveler.demo.floor import Filling, Floor, as_csv
from traveler.jobs.issue import IssueDone, IssueRequest, issue
from traveler.jobs.open import open_session
from traveler.jobs.record import Recorded, record
from traveler.shop.session import Session

START = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)


@dataclass
class Bench:
    """A shop at work: ``office`` holds the present moment, which ``later`` moves on."""

    session: Session
    plans: dict[str, Plan]

    def later(self, minutes: int = 60) -> None:
        self.session = replace(self.session, now=self.session.now + timedelta(minutes=minutes))

    def issue(self, **changes: object) -> IssueDone:
        wanted = IssueRequest(**{"product": "step-stool", "variant": "2", "by": "rhale", **changes})  # type: ignore[arg-type]
        done = issue(self.session, wanted)
        if done.plan is not None:
            self.plans |= dict.fromkeys(done.serials, done.plan)
        return done

    def unit(self, **changes: object) -> str:
        """One issued unit."""
        done = self.issue(**changes)
        assert len(done.serials) == 1, [str(finding) for finding in done.findings]
        return done.serials[0]

    def fillings(self, serial: str, operations: list[str] | None = None) -> list[Filling]:
        """Good results from a minute from now on; the clock moves past them."""
        floor = Floor(self.session.shop.gauges, "tkiln", 4100 + 10 * list(self.plans).index(serial))
        start = (self.session.now + timedelta(minutes=1)).astimezone(self.session.shop.zone)
        made = list(floor.fillings(self.plans[serial], start, operations))
        self.session = replace(self.session, now=made[-1].at + timedelta(minutes=5))
        return made

    def record(self, serial: str, made: list[Filling], name: str = "results.csv") -> Recorded:
        return record(self.session, [(Path(name), as_csv(made, serial, self.plans[serial]))])

    def built(self, **changes: object) -> str:
        """One unit, built and inspected without a fault."""
        serial = self.unit(**changes)
        self.record(serial, self.fillings(serial))
        return serial


@pytest.fixture
def bench(shop_folder: Path, store_url: str, quick_trial: None) -> Iterator[Bench]:
    """The small shop at work, on SQLite and on PostgreSQL."""
    opened = open_session(shop_folder, START, database=store_url)
    assert opened.session is not None, opened.findings
    with opened.session.store:
        yield Bench(opened.session, {})


@pytest.fixture
def edit(shop_folder: Path) -> Callable[[str, str], None]:
    """Changes a text in the definition of the small product."""

    def change(old: str, new: str) -> None:
        file = shop_folder / "product_defs" / "step-stool.yaml"
        text = file.read_text(encoding="utf-8")
        assert old in text
        file.write_text(text.replace(old, new), encoding="utf-8")

    return change


@dataclass(frozen=True)
class BenchType:
    """How a bench is made, for a test that keeps one over many cells, and the moment it begins at."""

    make: type[Bench] = Bench
    start: datetime = START


@pytest.fixture(scope="session")
def bench_type() -> BenchType:
    """For tests that open their own office."""
    return BenchType()
