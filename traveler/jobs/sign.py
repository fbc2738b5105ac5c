"""Signing with a PIN, and the PINs that people are given."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path

from traveler.finding import Finding, Place, Weight, blocking
from traveler.record.records import PinTrials
from traveler.shop.edit import set_in_person
from traveler.shop.folder import PEOPLE_FILE
from traveler.shop.people import Person, hash_is_old, hash_pin, pin_is_right, weak_pin
from traveler.shop.session import Session
from traveler.shop.settings import Settings
from traveler.verdict.authority import absent_person, holds_any, may_act, pin_for, roles_for

LONGEST_LOCK = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class SignedIn:
    """The session in which this person's PIN counts as given (else as it was), and what stood in the way."""

    session: Session
    findings: tuple[Finding, ...]


def allowed(
    session: Session, action: str | None, by: str, *, at: datetime | None = None, serial: str | None = None
) -> tuple[Finding, ...]:
    """Why this person may not do the action, about this unit; empty if they may, or if nothing is asked.

    The role is asked of the day on which it was done (``at``) and of today: nobody writes today what they
    were allowed to do only earlier. Findings: GAT002, PER001, PER003; PIN004, PIN005.
    """
    if action is None:
        return ()
    shop, place = session.shop, Place(unit=serial)
    days = (session.day(at or session.now), session.today)
    refused = may_act(action, by, days, shop.people, shop.settings, place=place)
    return (*refused, *unsigned(session, action, by, place))


def unknown_person(session: Session, person: str) -> tuple[Finding, ...]:
    """PER001: nobody here has this id."""
    refused = absent_person(person, None, session.shop.people)
    return () if refused is None else (Finding(refused.code, refused.what, hint=refused.hint),)


def asks_pin(session: Session, action: str, by: str) -> bool:
    """Whether this person is asked for a PIN to do this: it asks for one, and they have one."""
    person = session.shop.people.get(by)
    asked = action in pin_for(session.shop.settings)
    return asked and person is not None and person.pin is not None and by not in session.proven


def unsigned(
    session: Session, action: str | None, by: str, place: Place | None = None
) -> tuple[Finding, ...]:
    """Why the action may not go on without a PIN (PIN004, PIN005); empty if it may."""
    where, person = place or Place(), session.shop.people.get(by)
    if action not in pin_for(session.shop.settings) or person is None or by in session.proven:
        return ()
    if person.pin is not None:
        what = f"to {action} asks for the PIN of {by}"
        return (Finding("PIN004", what, where, hint="give it on the terminal, or with --pin-file"),)
    if not session.shop.settings.pin_required:
        return ()
    what = f"to {action} takes a PIN, and {by} has none"
    return (Finding("PIN005", what, where, hint=f"set one: traveler people pin {by}"),)


def sign_in(session: Session, by: str, pin: str, *, now: datetime | None = None) -> SignedIn:
    """Checks a PIN; ``now`` stands in for the clock of the store in tests.

    An unknown person, or one without a PIN, gets the same answer after the same time as for a wrong PIN, and
    is locked out alike. Findings: PIN001 wrong; PIN002 locked out; PIN003 too soon after a wrong one.

    Raises:
        StoreError: the trial cannot be counted; then the PIN was not looked at.
    """
    person, settings = session.shop.people.get(by), session.shop.settings
    key = by if person is not None else _stranger(by)
    with session.store.transaction() as work:
        moment = now or work.clock()
        trials = work.hold_pin_trials(key, moment)
        until = closed_until(trials, settings)
        if until is not None and moment < until:
            work.abandon()
            return SignedIn(session, (_wait(by, trials, settings, until - moment),))
        begun = max(moment, trials.last) if trials.failures else moment
        counted = PinTrials(trials.failures + 1, begun)
        work.note_pin_trials(key, counted)
    if not pin_is_right(person.pin if person is not None else None, pin):
        return SignedIn(session, (_wrong(by, counted, settings),))
    with session.store.transaction() as work:
        work.hold_pin_trials(key, moment)
        work.note_pin_trials(key, PinTrials(0, counted.last))
    proven = replace(session, proven=session.proven | {by})
    return SignedIn(proven, tuple(_renewed(session, person, pin)) if person is not None else ())


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


def _stranger(by: str) -> str:
    """One of a few counters for all ids that nobody has, so that guessing ids fills no table."""
    return f"?{sha256(by.encode('utf-8', 'replace')).hexdigest()[:2]}"


def _wait(by: str, trials: PinTrials, settings: Settings, left: timedelta) -> Finding:
    if trials.failures >= settings.pin_tries:
        minutes = -(-left // timedelta(minutes=1))
        what = f"{by} is locked out after {trials.failures} wrong PINs, for {minutes} min more"
        hint = "wait, or ask quality or the director: traveler people unlock"
        return Finding("PIN002", what, hint=hint)
    seconds = -(-left // timedelta(seconds=1))
    what = f"too soon after a wrong PIN of {by}: the next trial is taken in {seconds} s"
    return Finding("PIN003", what, hint="wait, then try again")


def _wrong(by: str, counted: PinTrials, settings: Settings) -> Finding:
    left = settings.pin_tries - counted.failures
    hint = f"{left} more before a lock-out" if left > 0 else "no further trial is taken for a while"
    return Finding("PIN001", f"this is not the PIN of {by}", hint=hint)


def _renewed(session: Session, person: Person, pin: str) -> Iterator[Finding]:
    """A hash with older parameters is made again while the PIN is at hand; a failure is only reported."""
    if person.pin is None or not hash_is_old(person.pin):
        return
    try:
        set_in_person(session.shop.folder, person.id, {"pin": hash_pin(pin)})
    except Exception as problem:  # noqa: BLE001 - the PIN was right; whatever hinders the renewal is only told
        what = f"the hash of {person.id}'s PIN is of an older kind and could not be renewed: {problem}"
        yield Finding(
            "PIN008", what, weight=Weight.WARNING, hint=f"set it again: traveler people pin {person.id}"
        )


@dataclass(frozen=True, slots=True)
class PinDone:
    """The file that was written, or None; and what stood in the way."""

    file: Path | None
    findings: tuple[Finding, ...]

    @property
    def done(self) -> bool:
        """Whether nothing stood in the way."""
        return not blocking(self.findings)


def may_set_pin(session: Session, person: str, by: str) -> tuple[Finding, ...]:
    """Why ``by`` may not set this person's PIN; empty if they may.

    A person changes their own with the one they have. A first PIN is set by somebody with the right to enrol,
    and freely as long as nobody with that right has a PIN themselves. A PIN that was forgotten is replaced by
    somebody with the right to unlock, never by its owner. Findings: PER001, PER003 the person; PIN004 the PIN
    of ``by`` was not given; PIN007 it takes somebody else; GAT002 that somebody has not the right.
    """
    people, settings = session.shop.people, session.shop.settings
    owner = people.get(person)
    if owner is None:
        return unknown_person(session, person)
    if not owner.here(session.today):
        return (Finding("PER003", f"{person} left on {owner.left}, this is {session.today}"),)
    if by == person and owner.pin is not None:
        return _own(session, person)
    if people.get(by) is None:
        return unknown_person(session, by)
    action = "unlock" if owner.pin is not None else "enrol"
    if action == "enrol" and not _keepers(session):
        return ()
    if by == person:
        roles = " or ".join(roles_for(action, settings))
        what = f"the first PIN of {person} is set by somebody else"
        return (Finding("PIN007", what, hint=f"ask somebody with the role {roles} (--by ID)"),)
    return allowed(session, action, by)


def set_pin(session: Session, person: str, pin: str, by: str) -> PinDone:
    """Writes the hash of a new PIN into ``people.yaml``, with who set it, and clears the count of trials.

    Findings: those of :func:`may_set_pin`; PIN006 the PIN is not a good one, or the one there was.

    Raises:
        CannotDo: the file is written in a way that cannot be changed safely.
        OSError: the file cannot be written.
    """
    findings = [*may_set_pin(session, person, by)]
    owner = session.shop.people.get(person)
    if owner is not None:
        findings += weak_pin(pin, least=session.shop.settings.pin_length, person=person)
        findings += _as_before(owner, pin) if not blocking(findings) else ()
    if blocking(findings):
        return PinDone(None, tuple(findings))
    by_hand = f"the PIN of {person} cannot be written by hand; set its line in order and try again"
    values = {"pin_set_by": by, "pin": hash_pin(pin)}
    file = set_in_person(session.shop.folder, person, values, by_hand)
    _clear(session, person)
    return PinDone(file, tuple(findings))


def unlock(session: Session, person: str, by: str) -> PinDone:
    """Takes the wrong PINs of a person off the count, so that they may try again at once.

    Findings: PER001 nobody of this id; PIN007 one's own; GAT002, PIN004, PIN005 no right to unlock.
    """
    if unknown := unknown_person(session, person):
        return PinDone(None, unknown)
    findings = [*allowed(session, "unlock", by)]
    if by == person:
        roles = " or ".join(roles_for("unlock", session.shop.settings))
        what = "you cannot unlock yourself"
        findings.append(Finding("PIN007", what, hint=f"ask somebody with the role {roles}"))
    if not blocking(findings):
        _clear(session, person)
    return PinDone(None, tuple(findings))


def _own(session: Session, person: str) -> tuple[Finding, ...]:
    """Their own PIN takes the one they have, whatever the shop asks PINs for."""
    if person in session.proven:
        return ()
    what = f"to change it asks for the present PIN of {person}"
    return (Finding("PIN004", what, hint="a person who forgot it asks quality or the director"),)


def _keepers(session: Session) -> bool:
    """Whether anybody who may enrol has a PIN, so that first PINs can be asked of them."""
    roles, day = roles_for("enrol", session.shop.settings), session.today
    return any(
        person.pin is not None and holds_any(person, roles, day) for person in session.shop.people.people
    )


def _as_before(owner: Person, pin: str) -> Iterator[Finding]:
    if owner.pin is not None and pin_is_right(owner.pin, pin):
        what = "the new PIN equals the old one"
        yield Finding("PIN006", what, Place(PEOPLE_FILE), hint="choose another PIN")


def _clear(session: Session, person: str) -> None:
    with session.store.transaction() as work:
        trials = work.hold_pin_trials(person, work.clock())
        work.note_pin_trials(person, PinTrials(0, trials.last))
