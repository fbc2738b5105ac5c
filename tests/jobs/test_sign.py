"""PINs at the desk: who is asked, what a wrong one costs, and that nobody gets more trials than there are."""

from __future__ import annotations

import multiprocessing
import os
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from traveler.finding import blocking
from traveler.jobs.append import note, strike
from traveler.jobs.open import open_session
from traveler.jobs.shipping import release
from traveler.jobs.sign import asks_pin, set_pin, sign_in, unlock, unsigned
from traveler.record.store import Store
from traveler.shop import people as pins
from traveler.shop.session import Session

CLOCK = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)
RIGHT, WRONG = "4826", "5937"


@pytest.fixture(autouse=True)
def light(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Small parameters of argon2id: these tests are about counting."""
    for name, value in (("MEMORY_KIB", 8), ("TIME_COST", 1), ("LANES", 1)):
        monkeypatch.setattr(pins, name, value)
    pins._hasher.cache_clear()
    monkeypatch.setattr(pins, "NOBODYS", pins.hash_pin("nobody has this"))
    yield
    pins._hasher.cache_clear()


def again(session: Session, **settings: object) -> Session:
    """The office with its files read again, as the next command would; some settings as given."""
    opened = open_session(session.shop.folder, session.now, database="sqlite://")
    assert opened.session is not None, opened.findings
    opened.session.store.close()
    shop = opened.session.shop
    return replace(session, shop=replace(shop, settings=shop.settings.model_copy(update=settings)))


@pytest.fixture
def desk(bench: Any) -> Session:
    """The small shop, where quality has a PIN and the others have none."""
    assert set_pin(bench.session, "qmoor", RIGHT, "qmoor").done
    bench.session = again(bench.session)
    session: Session = bench.session
    return session


def codes(found: Any) -> list[str]:
    return [finding.code for finding in found]


def tried(session: Session, pin: str, seconds: float, by: str = "qmoor") -> list[str]:
    """The codes of a trial so many seconds after the beginning."""
    return codes(sign_in(session, by, pin, now=CLOCK + timedelta(seconds=seconds)).findings)


# who is asked


def test_whoever_has_a_pin_is_asked_and_the_others_are_not(desk: Session) -> None:
    assert asks_pin(desk, "release", "qmoor")
    assert not asks_pin(desk, "release", "iwren")
    assert not asks_pin(desk, "stop", "qmoor"), "nothing stands between anybody and a stop"
    assert codes(unsigned(desk, "release", "qmoor")) == ["PIN004"]
    assert unsigned(desk, "release", "iwren") == ()
    assert unsigned(desk, "release", "nobody") == (), "told by the gate, as unknown"


def test_a_shop_may_close_what_asks_for_a_pin_to_whoever_has_none(desk: Session) -> None:
    strict = again(desk, pin_required=True)
    assert codes(unsigned(strict, "decide", "rhale")) == ["PIN005"]
    assert unsigned(strict, "place", "pstrap") == (), "what asks for no PIN stays open"


def test_a_shop_says_which_actions_ask(desk: Session) -> None:
    own = again(desk, pin_for=("ship",))
    assert asks_pin(own, "ship", "qmoor")
    assert unsigned(own, "release", "qmoor") == ()


def test_a_release_goes_on_with_the_pin_only_and_its_entry_says_so(bench: Any, desk: Session) -> None:
    serial = bench.built()
    refused = release(bench.session, serial, "qmoor")
    assert codes(refused.findings) == ["PIN004"]
    signed = sign_in(bench.session, "qmoor", RIGHT)
    assert signed.findings == ()
    done = release(signed.session, serial, "qmoor")
    assert done.taken
    assert done.judged.entries[-1].body.pin_checked
    assert not note(bench.session, serial, "without", "qmoor").entry.body.pin_checked


def test_the_pin_of_one_person_counts_for_nobody_else(bench: Any, desk: Session) -> None:
    assert set_pin(desk, "iwren", "70491", "iwren").done
    desk = again(desk)
    signed = sign_in(desk, "qmoor", RIGHT).session
    assert signed.proven == {"qmoor"}
    assert not asks_pin(signed, "release", "qmoor")
    assert asks_pin(signed, "release", "iwren")
    assert codes(sign_in(desk, "iwren", RIGHT).findings) == ["PIN001"]


def test_striking_ones_own_entry_asks_for_nothing_and_others_do(bench: Any, desk: Session) -> None:
    serial = bench.unit()
    mine = note(bench.session, serial, "mine", "qmoor").entry
    theirs = note(bench.session, serial, "theirs", "tkiln").entry
    assert strike(bench.session, serial, mine.seq, "wrong", "qmoor").entry is not None
    assert codes(strike(bench.session, serial, theirs.seq, "wrong", "qmoor").findings) == ["PIN004"]
    signed = sign_in(bench.session, "qmoor", RIGHT).session
    assert strike(signed, serial, theirs.seq, "wrong", "qmoor").entry is not None


# what a wrong one costs


def test_a_wrong_pin_costs_more_each_time_and_then_locks_out(desk: Session) -> None:
    assert tried(desk, WRONG, 0) == ["PIN001"]
    assert tried(desk, WRONG, 0.1) == ["PIN001"], "one slip of the finger costs no waiting"
    assert tried(desk, WRONG, 2.0) == ["PIN003"]
    assert tried(desk, WRONG, 2.2) == ["PIN001"]
    assert tried(desk, WRONG, 6.1) == ["PIN003"]
    assert tried(desk, WRONG, 6.3) == ["PIN001"]
    assert tried(desk, WRONG, 14.2) == ["PIN003"]
    assert tried(desk, WRONG, 14.4) == ["PIN001"]
    assert tried(desk, RIGHT, 14.4 + 899) == ["PIN002"], "locked out for a quarter of an hour"
    assert tried(desk, RIGHT, 14.4 + 901) == []


def test_each_wrong_pin_after_a_lock_out_doubles_it_up_to_a_day(desk: Session) -> None:
    now, minutes = 0.0, 15
    for _ in range(5):
        tried(desk, WRONG, now)
        now += 30
    now -= 30
    for _ in range(9):
        assert tried(desk, RIGHT, now + minutes * 60 - 1) == ["PIN002"]
        now += minutes * 60
        assert tried(desk, WRONG, now) == ["PIN001"], "one trial, and locked out again"
        minutes = min(2 * minutes, 1440)
    assert minutes == 1440
    assert tried(desk, RIGHT, now + 86_399) == ["PIN002"]
    assert tried(desk, RIGHT, now + 86_400) == []


def test_a_right_pin_ends_the_count(desk: Session) -> None:
    for _ in range(3):
        assert tried(desk, WRONG, 0) == ["PIN001"]
        assert tried(desk, RIGHT, 0) == []
    assert tried(desk, WRONG, 0) == ["PIN001"]


def test_a_trial_refused_costs_nothing_more(desk: Session) -> None:
    for second in (0, 10, 20, 30, 40):
        assert tried(desk, WRONG, second) == ["PIN001"]
    for second in range(41, 60):
        assert tried(desk, WRONG, second) == ["PIN002"]
    assert tried(desk, RIGHT, 40 + 900) == []


def test_a_shop_says_how_many_and_how_long(desk: Session) -> None:
    strict = again(desk, pin_tries=2, pin_lock_minutes=60)
    assert tried(strict, WRONG, 0) == ["PIN001"]
    assert tried(strict, WRONG, 1) == ["PIN001"]
    assert tried(strict, RIGHT, 3600) == ["PIN002"]
    assert tried(strict, RIGHT, 3601) == []


def test_a_clock_that_is_set_back_lifts_nothing(desk: Session) -> None:
    for second in (0, 10, 20, 30, 40):
        tried(desk, WRONG, second)
    assert tried(desk, RIGHT, -86_400) == ["PIN002"]
    assert tried(desk, RIGHT, 939) == ["PIN002"]
    assert tried(desk, RIGHT, 940) == []


def test_the_moment_of_the_job_lifts_nothing_since_the_store_has_its_own_clock(desk: Session) -> None:
    for _ in range(5):
        sign_in(desk, "qmoor", WRONG)
        with desk.store.transaction() as work:  # as if the waiting in between were over
            held = work.hold_pin_trials("qmoor", CLOCK)
            work.note_pin_trials("qmoor", replace(held, last=datetime.now(UTC) - timedelta(seconds=60)))
    later = replace(desk, now=desk.now + timedelta(days=3650))
    assert codes(sign_in(later, "qmoor", RIGHT).findings) == ["PIN002"]
    assert codes(sign_in(replace(desk, now=datetime(1990, 1, 1, tzinfo=UTC)), "qmoor", RIGHT).findings) == [
        "PIN002"
    ]


def test_one_persons_wrong_pins_lock_nobody_else_out(desk: Session) -> None:
    assert set_pin(desk, "iwren", "70491", "iwren").done
    desk = again(desk)
    for second in (0, 10, 20, 30, 40):
        tried(desk, WRONG, second)
    assert tried(desk, "70491", 41, "iwren") == []


# nobody learns who is there


def test_whoever_is_unknown_or_has_no_pin_is_answered_and_locked_out_alike(desk: Session) -> None:
    for by in ("iwren", "nobody", "../etc", "x" * 5000):
        for second in (0, 10, 20, 30, 40):
            assert tried(desk, RIGHT, second, by) == ["PIN001"]
        assert tried(desk, RIGHT, 41, by) == ["PIN002"]


def test_guessing_ids_fills_no_table(desk: Session) -> None:
    for number in range(270):
        tried(desk, WRONG, 0, f"guess{number}")
    with desk.store.reading() as records:
        assert len(records.pin_trials()) <= 256


# another try


def test_quality_lifts_a_lock_out_and_nobody_their_own(bench: Any, desk: Session) -> None:
    assert set_pin(desk, "iwren", "70491", "iwren").done
    desk = again(desk)
    for second in (0, 10, 20, 30, 40):
        tried(desk, WRONG, second, "iwren")
    assert codes(unlock(desk, "iwren", "iwren").findings) == ["GAT002", "PIN004", "PIN007"]
    assert codes(unlock(desk, "iwren", "pstrap").findings) == ["GAT002"]
    assert codes(unlock(desk, "iwren", "qmoor").findings) == ["PIN004"]
    assert tried(desk, "70491", 41, "iwren") == ["PIN002"]
    signed = sign_in(desk, "qmoor", RIGHT).session
    assert codes(unlock(signed, "qmoor", "qmoor").findings) == ["PIN007"]
    assert codes(unlock(signed, "iwran", "qmoor").findings) == ["PER001"]
    assert unlock(signed, "iwren", "qmoor").done
    assert tried(desk, "70491", 42, "iwren") == []


# the hash


def test_a_hash_of_older_parameters_is_made_anew_at_the_next_signing(
    desk: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = desk.shop.people.by_id["qmoor"].pin
    monkeypatch.setattr(pins, "TIME_COST", 2)
    pins._hasher.cache_clear()
    assert sign_in(desk, "qmoor", WRONG).findings != ()
    assert again(desk).shop.people.by_id["qmoor"].pin == before
    assert sign_in(desk, "qmoor", RIGHT).findings == ()
    renewed = again(desk)
    hashed = renewed.shop.people.by_id["qmoor"].pin
    assert hashed is not None
    assert hashed != before
    assert not pins.hash_is_old(hashed)
    assert sign_in(renewed, "qmoor", RIGHT).findings == ()


def test_a_hash_that_cannot_be_renewed_stops_no_signing(
    desk: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pins, "TIME_COST", 2)
    pins._hasher.cache_clear()
    (desk.shop.folder / "people.yaml").unlink()
    signed = sign_in(desk, "qmoor", RIGHT)
    assert signed.session.proven == {"qmoor"}
    assert [(finding.code, str(finding.weight)) for finding in signed.findings] == [("PIN008", "warning")]


# many at once


def attack(folder: str, url: str, start: float, answers: Any) -> None:
    """One attacker among many: tries a PIN of its own again and again, as fast as it is answered."""
    opened = open_session(Path(folder), CLOCK, database=url)
    assert opened.session is not None
    looked: list[str] = []
    import traveler.jobs.sign as signing

    real = signing.pin_is_right
    signing.pin_is_right = lambda hashed, pin: (looked.append(pin), real(hashed, pin))[1]  # type: ignore[func-returns-value]
    time.sleep(max(0.0, start - time.monotonic()))
    for number in range(12):
        sign_in(
            opened.session, "qmoor", f"{os.getpid() % 10_000:04}{number:02}", now=CLOCK + timedelta(seconds=1)
        )
    opened.session.store.close()
    answers.put(len(looked))


def test_many_processes_get_no_more_trials_than_one(desk: Session, store_url: str) -> None:
    """All at one moment: the person who comes third must wait, however many there are."""
    assert looked_at(desk, store_url) == 2


def several(url: str) -> tuple[Any, int]:
    """How processes are started, and how many: those of a server do not inherit its connections."""
    return (
        (multiprocessing.get_context("spawn"), 4)
        if "postgres" in url
        else (multiprocessing.get_context("fork"), 8)
    )


def looked_at(desk: Session, url: str) -> int:
    """How many PINs were compared with the hash when several processes tried a dozen each."""
    context, count = several(url)
    answers = context.Queue()
    start = time.monotonic() + 0.5
    arguments = (str(desk.shop.folder), url, start, answers)
    running = [context.Process(target=attack, args=arguments) for _ in range(count)]
    for process in running:
        process.start()
    total = sum(answers.get(timeout=120) for _ in running)
    for process in running:
        process.join(60)
    return total


def attack_patiently(folder: str, url: str, answers: Any) -> None:
    """An attacker who can make the waiting pass: each trial comes a minute later than the one before."""
    opened = open_session(Path(folder), CLOCK, database=url)
    assert opened.session is not None
    found = [
        codes(sign_in(opened.session, "qmoor", WRONG, now=CLOCK + timedelta(minutes=number)).findings)
        for number in range(10)
    ]
    opened.session.store.close()
    answers.put(sum(told == ["PIN001"] for told in found))


def test_patience_in_many_processes_ends_at_the_lock_out(desk: Session, store_url: str) -> None:
    context, count = several(store_url)
    answers = context.Queue()
    arguments = (str(desk.shop.folder), store_url, answers)
    running = [context.Process(target=attack_patiently, args=arguments) for _ in range(count)]
    for process in running:
        process.start()
    total = sum(answers.get(timeout=120) for _ in running)
    for process in running:
        process.join(60)
    assert total == desk.shop.settings.pin_tries


def test_a_trial_is_counted_before_the_pin_is_looked_at(
    desk: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The person who pulls the plug between the two has used up a trial."""

    def pulled(*_: object) -> bool:
        raise KeyboardInterrupt

    monkeypatch.setattr("traveler.jobs.sign.pin_is_right", pulled)
    for second in (0, 10, 20, 30, 40):
        with pytest.raises(KeyboardInterrupt):
            tried(desk, RIGHT, second)
    monkeypatch.undo()
    assert tried(desk, RIGHT, 41) == ["PIN002"]


def test_a_store_that_cannot_count_looks_at_no_pin(desk: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(self: Store) -> Any:
        raise OSError(28, "no space left on device")

    monkeypatch.setattr(Store, "transaction", broken)
    monkeypatch.setattr("traveler.jobs.sign.pin_is_right", lambda *_: pytest.fail("looked at"))
    with pytest.raises(OSError, match="no space"):
        sign_in(desk, "qmoor", RIGHT)


def test_a_lock_out_survives_a_backup_and_a_move(desk: Session, tmp_path: Path) -> None:
    from traveler.record.archive.backup import back_up, restore_backup

    for second in (0, 10, 20, 30, 40):
        tried(desk, WRONG, second)
    back_up(desk.store, tmp_path / "kept")
    with Store.open(f"sqlite:///{tmp_path / 'again.db'}", attachments=tmp_path / "a") as copy:
        restore_backup(tmp_path / "kept", copy)
        assert not blocking(
            sign_in(replace(desk, store=copy), "qmoor", RIGHT, now=CLOCK + timedelta(days=1)).findings
        )
        assert tried(desk, RIGHT, 41) == ["PIN002"]
