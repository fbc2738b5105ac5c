"""Signing: whoever has a PIN gives it for what gives something away; wrong ones are counted in the store.

A trial is counted, and on disk, before the PIN is looked at. So any number of processes together get no more
trials than one, and a process that is killed has used its trial up. The clock is that of the store, which no
setting of this program moves.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from hashlib import sha256

from traveler.finding import Finding, Place, Weight
from traveler.jobs.office import Office
from traveler.jobs.people_file import change_people, with_value
from traveler.record.pin_trials import PinTrials
from traveler.shop.people import Person
from traveler.shop.pins import hash_is_old, hash_pin, pin_is_right
from traveler.shop.settings import Settings
from traveler.verdict.authority import pin_for

LONGEST_LOCK = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class SignedIn:
    """The office in which this person's PIN counts as given (else as it was), and what stood in the way."""

    office: Office
    findings: tuple[Finding, ...]


def asks_pin(office: Office, action: str, by: str) -> bool:
    """Whether this person is asked for a PIN to do this: it asks for one, and they have one."""
    person = office.shop.people.get(by)
    asked = action in pin_for(office.shop.settings)
    return asked and person is not None and person.pin is not None and by not in office.proven


def unsigned(office: Office, action: str | None, by: str, place: Place | None = None) -> tuple[Finding, ...]:
    """Why the action may not go on without a PIN (PIN004, PIN005); empty if it may."""
    where, person = place or Place(), office.shop.people.get(by)
    if action not in pin_for(office.shop.settings) or person is None or by in office.proven:
        return ()
    if person.pin is not None:
        what = f"to {action} asks for the PIN of {by}"
        return (Finding("PIN004", what, where, why=_WHY, hint="give it on the terminal, or with --pin-file"),)
    if not office.shop.settings.pin_required:
        return ()
    what = f"to {action} takes a PIN, and {by} has none"
    return (Finding("PIN005", what, where, why=_WHY, hint=f"set one: traveler pin set {by}"),)


def sign_in(office: Office, by: str, pin: str, *, now: datetime | None = None) -> SignedIn:
    """Checks a PIN; ``now`` stands in for the clock of the store in tests.

    Whoever is unknown, or has no PIN, gets the same answer after the same time as for a wrong one, and is
    locked out alike. Findings: PIN001 wrong; PIN002 locked out; PIN003 too soon after a wrong one.

    Raises:
        StoreTrouble: the trial cannot be counted; then the PIN was not looked at.
    """
    person, settings = office.shop.people.get(by), office.shop.settings
    key = by if person is not None else _stranger(by)
    with office.store.transaction() as work:
        moment = now or work.clock()
        trials = work.hold_pin_trials(key, moment)
        until = closed_until(trials, settings)
        if until is not None and moment < until:
            work.abandon()
            return SignedIn(office, (_wait(by, trials, settings, until - moment),))
        begun = max(moment, trials.last) if trials.failures else moment
        counted = PinTrials(trials.failures + 1, begun)
        work.note_pin_trials(key, counted)
    if not pin_is_right(person.pin if person is not None else None, pin):
        return SignedIn(office, (_wrong(by, counted, settings),))
    with office.store.transaction() as work:
        work.hold_pin_trials(key, moment)
        work.note_pin_trials(key, PinTrials(0, counted.last))
    proven = replace(office, proven=office.proven | {by})
    return SignedIn(proven, tuple(_renewed(office, person, pin)) if person is not None else ())


def closed_until(trials: PinTrials, settings: Settings) -> datetime | None:
    """Until when no further trial is taken after these; None: one is taken at once.

    The second wrong PIN in a row costs two seconds, each further one twice as much; from ``pin_tries`` on it
    is a lock-out of ``pin_lock_minutes``, doubled by each further one, up to a day.
    """
    over = trials.failures - settings.pin_tries
    if over >= 0:
        lock = timedelta(minutes=settings.pin_lock_minutes << min(over, 11))
        return trials.last + min(lock, LONGEST_LOCK)
    return trials.last + timedelta(seconds=1 << (trials.failures - 1)) if trials.failures > 1 else None


def locked_until(trials: PinTrials | None, settings: Settings, now: datetime) -> datetime | None:
    """Until when somebody is locked out; None: they are not."""
    if trials is None or trials.failures < settings.pin_tries:
        return None
    until = closed_until(trials, settings)
    return until if until is not None and now < until else None


_WHY = "the record says who; the PIN shows that it was them"


def _stranger(by: str) -> str:
    """One of a few counters for all ids that nobody has, so that guessing ids fills no table."""
    return f"?{sha256(by.encode('utf-8', 'replace')).hexdigest()[:2]}"


def _wait(by: str, trials: PinTrials, settings: Settings, left: timedelta) -> Finding:
    if trials.failures >= settings.pin_tries:
        minutes = -(-left // timedelta(minutes=1))
        what = f"{by} is locked out after {trials.failures} wrong PINs, for {minutes} min more"
        hint = "wait, or ask quality or the director: traveler pin unlock"
        return Finding("PIN002", what, why=_WHY, hint=hint)
    seconds = -(-left // timedelta(seconds=1))
    what = f"too soon after a wrong PIN of {by}: the next trial is taken in {seconds} s"
    return Finding("PIN003", what, why=_WHY, hint="wait, then try again")


def _wrong(by: str, counted: PinTrials, settings: Settings) -> Finding:
    left = settings.pin_tries - counted.failures
    hint = f"{left} more before a lock-out" if left > 0 else "no further trial is taken for a while"
    return Finding("PIN001", f"this is not the PIN of {by}", why=_WHY, hint=hint)


def _renewed(office: Office, person: Person, pin: str) -> Iterator[Finding]:
    """A hash made with older parameters is made anew while the PIN is at hand; a failure is only told."""
    if person.pin is None or not hash_is_old(person.pin):
        return
    try:
        change_people(office.shop.folder, with_value(person.id, "pin", hash_pin(pin)), "")
    except Exception as problem:  # noqa: BLE001 - the PIN was right; whatever hinders the renewal is only told
        what = f"the hash of {person.id}'s PIN is of an older kind and could not be renewed: {problem}"
        yield Finding(
            "PIN008", what, weight=Weight.WARNING, hint=f"set it again: traveler pin set {person.id}"
        )
