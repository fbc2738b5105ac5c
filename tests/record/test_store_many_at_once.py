"""Many processes at once, and processes killed at any moment: nothing lost, nothing twice, chains whole."""

from __future__ import annotations

import random
import subprocess
import sys
import time

import pytest

from traveler.record import chain
from traveler.record.audit import audit
from traveler.record.store import Store

WORKER = """
import sys
from datetime import UTC, datetime
from traveler.record.entry import Draft, Issued, Noted
from traveler.record.store import Store

url, act, times, name, digest = sys.argv[1:]
now = datetime(2026, 9, 14, 8, 30, tzinfo=UTC)


def issued(serial):
    body = Issued(product="bobbin-winder", revision="D", variant="4", digest=digest)
    return Draft(unit=serial, at=now, by=name, body=body)


with Store.open(url) as store:
    print("ready", flush=True)
    for turn in range(int(times)):
        with store.transaction() as tx:
            if act == "issue":
                serial = f"U{tx.next_number('U'):05}"
                tx.issue(issued(serial), now)
                said = serial
            else:
                so_far = len(tx.entries("BW4-1"))
                note = Noted(text=f"{name} {turn} {so_far}")
                drafts = [Draft(unit="BW4-1", at=now, by=name, body=note)] * 3
                said = " ".join(str(entry.seq) for entry in tx.append_all(drafts, now))
        print(said, flush=True)
"""


def start(store: Store, act: str, times: int, name: str, samples) -> subprocess.Popen[str]:
    url = store.url.render_as_string(hide_password=False)
    command = [sys.executable, "-c", WORKER, url, act, str(times), name, samples.definition().digest]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def finish(workers: list[subprocess.Popen[str]]) -> list[str]:
    """What they acknowledged, line by line."""
    said: list[str] = []
    for worker in workers:
        out, err = worker.communicate(timeout=300)
        assert worker.returncode == 0, err
        said += out.splitlines()[1:]
    return said


def sound(store: Store) -> None:
    assert [finding for audited in audit(store) for finding in audited.findings] == []


def issue_at_once(store: Store, samples, processes: int, each: int) -> None:
    serials = finish([start(store, "issue", each, f"p{at}", samples) for at in range(processes)])
    assert len(serials) == len(set(serials)) == processes * each
    with store.reading() as records:
        assert {unit.serial for unit in records.units()} == {*serials, "BW4-1"}
    assert sorted(serials) == [f"U{at:05}" for at in range(1, processes * each + 1)], "no number was lost"
    sound(store)


def write_at_once(store: Store, samples, processes: int, each: int) -> None:
    said = finish([start(store, "note", each, f"p{at}", samples) for at in range(processes)])
    seqs = [int(seq) for line in said for seq in line.split()]
    assert sorted(seqs) == list(range(2, 2 + processes * each * 3))
    with store.reading() as records:
        entries = records.entries("BW4-1")
    for entry in entries[1:]:  # what each saw before it wrote is what stands before its three entries
        _name, _turn, so_far = entry.body.text.split()
        assert 0 <= entry.seq - 1 - int(so_far) < 3
    sound(store)


def kill_at_once(store: Store, samples, times: int, seed: int) -> int:
    """Kills a writer again and again; how many entries had been acknowledged by then."""
    chance = random.Random(seed)
    acknowledged: list[int] = []
    for turn in range(times):
        worker = start(store, "note", 1_000_000, f"k{turn}", samples)
        assert worker.stdout is not None
        assert worker.stdout.readline() == "ready\n"
        time.sleep(chance.uniform(0, 0.2))
        worker.kill()
        out, _ = worker.communicate()
        whole = out.splitlines() if out.endswith("\n") else out.splitlines()[:-1]
        acknowledged += [int(seq) for line in whole for seq in line.split()]
        with store.reading() as records:
            entries, unit = records.entries("BW4-1"), records.unit("BW4-1")
            rows = records.rows("BW4-1")
        assert {entry.seq for entry in entries} >= set(acknowledged), "an acknowledged entry is lost"
        assert (len(entries) - 1) % 3 == 0, "a transaction was half written"
        assert chain.verify_rows(rows, head=unit.head, count=unit.entries) == []
    sound(store)
    return len(acknowledged)


def test_three_processes_issue_units_and_no_serial_is_given_twice(store, samples):
    issue_at_once(store, samples, processes=3, each=15)


def test_four_processes_write_to_one_unit_and_no_entry_is_lost(store, samples):
    write_at_once(store, samples, processes=4, each=8)


def test_a_writer_killed_at_any_moment_loses_nothing_acknowledged(store, samples):
    assert kill_at_once(store, samples, times=4, seed=1) > 0


@pytest.mark.long
def test_eight_processes_issue_a_thousand_units(store, samples):
    issue_at_once(store, samples, processes=8, each=125)


@pytest.mark.long
def test_sixteen_processes_write_to_one_unit(store, samples):
    write_at_once(store, samples, processes=16, each=40)


@pytest.mark.long
def test_two_hundred_kills_lose_nothing_acknowledged(store, samples):
    count = kill_at_once(store, samples, times=200, seed=2)
    print(f"200 kills; {count} entries had been acknowledged, all of them are there")
