"""Judging a whole store: the same verdicts by however many processes, and a clean end when interrupted."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import create_engine, text

from traveler.cli.unit import Show
from traveler.finding import CannotDo, Finding
from traveler.jobs.open import open_session
from traveler.shop.session import Session
from traveler.trace.judging import AT_ONCE, every_serial, judge, judge_all

UNITS = 2 * AT_ONCE + 7
NOW = datetime(2024, 1, 10, tzinfo=UTC)
SHOW = Show(json_wanted=True, slots=False)


@pytest.fixture
def session(large_store: Any, store_url: str, tmp_path: Path) -> Any:
    folder = large_store.write_shop(tmp_path / "large", 30)
    large_store.build(store_url, units=UNITS, entries=30)
    opened = open_session(folder, NOW, database=store_url)
    assert opened.session is not None
    with opened.session.store:
        yield opened.session


def test_several_processes_give_what_one_gives_in_the_same_order(session: Session) -> None:
    serials = every_serial(session)
    assert len(serials) == UNITS
    alone = list(judge_all(session, serials, SHOW, processes=1))
    spread = list(judge_all(session, serials, SHOW, processes=2))
    assert alone == spread
    with session.store.reading() as records:
        assert alone[5] == SHOW(judge(session, records, serials[5]))
    assert [json.loads(item.text)["unit"] for item in alone] == list(serials)


def test_a_unit_that_cannot_be_read_is_a_finding_and_the_others_are_judged(session: Session) -> None:
    serials = every_serial(session)
    engine = create_engine(session.store.url)
    with engine.begin() as connection:
        if engine.dialect.name == "sqlite":
            connection.execute(text("DROP TRIGGER only_append_entry_update"))
        else:
            connection.execute(text("SET session_replication_role = replica"))
        connection.execute(
            text("UPDATE entry SET body = '{}' WHERE unit = :unit AND seq = 4"), {"unit": serials[30]}
        )
    engine.dispose()
    for processes in (1, 2):
        shown = list(judge_all(session, serials, SHOW, processes))
        wrong = [
            (number, finding.code) for number, finding in enumerate(shown) if isinstance(finding, Finding)
        ]
        assert wrong == [(30, "CHN001")]


def test_a_serial_that_was_never_issued_ends_it(session: Session) -> None:
    serials = (*every_serial(session), "CW6-2336-99999X")
    for processes in (1, 2):
        with pytest.raises(CannotDo, match="there is no unit"):
            list(judge_all(session, serials, SHOW, processes))


def test_a_process_that_is_killed_is_told(session: Session) -> None:
    with pytest.raises(CannotDo, match="ended a process"):
        list(judge_all(session, every_serial(session), _die, processes=2))


def _die(_judged: Any) -> str:
    os.kill(os.getpid(), signal.SIGKILL)
    return ""


@pytest.fixture
def waits_for() -> Callable[[Callable[[], bool]], None]:
    def wait(there: Callable[[], bool]) -> None:
        until = time.monotonic() + 60
        while not there():
            assert time.monotonic() < until, "it never came"
            time.sleep(0.02)

    return wait


def children(pid: int) -> set[int]:
    """The processes whose parent is this one, by what the system says."""
    found = set()
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = path.read_text().rsplit(")", 1)[1].split()
        except OSError:
            continue
        if int(fields[1]) == pid and fields[0] != "Z":
            found.add(int(path.parent.name))
    return found


def test_an_interrupt_from_the_keyboard_ends_every_process_with_one_sentence(
    large_store: Any, tmp_path: Path, waits_for: Any
) -> None:
    folder = large_store.write_shop(tmp_path / "large", 60)
    large_store.build(f"sqlite:///{folder / 'records.db'}", units=600, entries=60)
    environment = {**os.environ, "TRAVELER_NOW": NOW.isoformat()}
    environment.pop("TRAVELER_DATABASE", None)
    code = (
        "import sys; from traveler.cli.main import main; sys.argv = ['traveler', 'validate', '--all']; main()"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code], cwd=folder, env=environment, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
    )  # fmt: skip
    waits_for(lambda: len(children(process.pid)) >= 2)
    under_way = children(process.pid)
    os.killpg(process.pid, signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert (process.returncode, out, err) == (2, "", "traveler: interrupted\n")
    waits_for(lambda: not any(Path(f"/proc/{child}").exists() for child in under_way))


def test_another_process_judges_by_the_same_moment(session: Session) -> None:
    early = replace(session, now=datetime(2023, 1, 1, tzinfo=UTC))
    (first, *_) = judge_all(early, every_serial(early), SHOW, processes=2)
    assert not isinstance(first, Finding)
    (alone, *_) = judge_all(early, every_serial(early), SHOW, processes=1)
    (now, *_) = judge_all(session, every_serial(session), SHOW, processes=1)
    assert first == alone
    assert first != now
