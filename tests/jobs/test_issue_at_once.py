"""Several processes issue at once: no serial twice, none lost."""

from __future__ import annotations

import multiprocessing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from traveler.jobs.issue import IssueRequest, issue
from traveler.jobs.open import open_session
from traveler.sheets.sheet import Sheet
from traveler.trace.verify import verify_records

NOW = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)


def give(folder: Path, url: str, rounds: int, each: int, start: object, serials: object) -> None:
    """One process: issues ``rounds`` times ``each`` units and reports the serials."""
    import traveler.jobs.issue as job

    job.render_traveler = lambda *_, **__: Sheet(b"%PDF", ())  # type: ignore[assignment]  # printing is not in question
    opened = open_session(folder, NOW, database=url)
    assert opened.session is not None
    with opened.session.store:
        start.wait(60)  # type: ignore[attr-defined]
        for _ in range(rounds):
            done = issue(opened.session, IssueRequest("step-stool", "2", "rhale", count=each))
            serials.put((done.serials, [str(finding) for finding in done.findings]))  # type: ignore[attr-defined]


def issue_at_once(folder: Path, url: str, processes: int, rounds: int, each: int) -> list[str]:
    """All serials given."""
    spawn = multiprocessing.get_context("spawn")
    start, serials = spawn.Barrier(processes), spawn.Queue()
    arguments = (folder, url, rounds, each, start, serials)
    people = [spawn.Process(target=give, args=arguments) for _ in range(processes)]
    for person in people:
        person.start()
    told = [serials.get(timeout=300) for _ in range(processes * rounds)]
    for person in people:
        person.join(60)
    assert [person.exitcode for person in people] == [0] * processes
    assert [findings for _, findings in told if findings] == []
    return [serial for given, _ in told for serial in given]


def check(folder: Path, url: str, given: list[str], expected: int) -> None:
    assert len(given) == len(set(given)) == expected
    opened = open_session(folder, NOW, database=url)
    assert opened.session is not None
    with opened.session.store:
        done = verify_records(opened.session)
    assert (sorted(given), done.findings) == ([unit.serial for unit in done.units], ())


def test_four_processes_never_give_a_serial_twice(shop_folder: Path, store_url: str) -> None:
    check(shop_folder, store_url, issue_at_once(shop_folder, store_url, 4, 4, 3), 48)


@pytest.mark.long
def test_eight_processes_issue_125_units_each(shop_folder: Path, store_url: str) -> None:
    check(shop_folder, store_url, issue_at_once(shop_folder, store_url, 8, 25, 5), 1000)
