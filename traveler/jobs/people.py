"""People who come and leave, and roles that are handed on for a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import ClassVar

from traveler.finding import Finding, Place, blocking
from traveler.jobs.sign import allowed, locked_until, unknown_person, unsigned
from traveler.result import Result
from traveler.shop.edit import add_person, add_role, set_in_person
from traveler.shop.folder import PEOPLE_FILE
from traveler.shop.people import Person, RoleHeld, is_person_id
from traveler.shop.session import Session
from traveler.text import listed, near_names
from traveler.verdict.authority import AUTHORITY, EVERYBODY, ROLES, roles_for


@dataclass(frozen=True, slots=True)
class PersonToday(Result):
    """A person with the roles they hold today; ``locked`` says until when they are locked out."""

    json_keys: ClassVar[str] = (
        "id=person.id name=person.name roles here left=person.left pin=has_pin locked_until=locked"
    )

    person: Person
    roles: tuple[RoleHeld, ...]
    here: bool
    locked: datetime | None

    @property
    def has_pin(self) -> bool:
        """Whether they have a PIN; its hash is nobody's business."""
        return self.person.pin is not None


@dataclass(frozen=True, slots=True)
class Changed:
    """The file that was written (None where a finding stands in the way), and the findings."""

    file: Path | None
    findings: tuple[Finding, ...]


def people_today(session: Session, *, now: datetime | None = None) -> tuple[PersonToday, ...]:
    """Everybody in the order of the register; ``now`` stands in for the clock of the store in tests."""
    with session.store.reading() as records:
        trials, moment = records.pin_trials(), now or records.clock()
    day, settings = session.today, session.shop.settings
    return tuple(
        PersonToday(
            person,
            person.roles_on(day),
            person.here(day),
            locked_until(trials.get(person.id), settings, moment),
        )
        for person in session.shop.people.people
    )


def enrol(session: Session, person: str, name: str, roles: Sequence[str], since: date, by: str) -> Changed:
    """Enters somebody new with their roles.

    Findings: PEO004 the id is taken, or not spelled like one, or there is no name; GAT002, PIN004, PIN005
    the person who enters may not; PEO005 a role that the shop does not have.

    Raises:
        CannotDo: the file is written in a way that cannot be changed safely.
        OSError: the file cannot be written.
    """
    findings = [*allowed(session, "enrol", by), *_new_person(session, person, name)]
    findings += _idle_roles(session, roles)
    if blocking(findings):
        return Changed(None, tuple(findings))
    held = [{"role": role, "since": since.isoformat()} for role in dict.fromkeys(roles)]
    file = add_person(session.shop.folder, person, " ".join(name.split()), held)
    return Changed(file, tuple(findings))


def _new_person(session: Session, person: str, name: str) -> Iterator[Finding]:
    if session.shop.people.get(person) is not None:
        what = f"the id '{person}' is taken; ids of people who left stay in the file"
        yield Finding("PEO004", what, Place(PEOPLE_FILE), hint="take another id")
    elif not is_person_id(person):
        what = f"'{person}' is not spelled like an id"
        yield Finding("PEO004", what, hint="small letters, digits, '-' and '_', a letter first")
    if not name.strip():
        yield Finding("PEO004", "the person has no name", hint="give it with --name")


def _idle_roles(session: Session, roles: Sequence[str]) -> Iterator[Finding]:
    """PEO005 for each role that nothing in this shop is asked of."""
    settings = session.shop.settings
    named = {role for action in AUTHORITY for role in roles_for(action, settings)}
    known = {
        *ROLES,
        *named,
        *(role_held.role for person in session.shop.people.people for role_held in person.roles),
    }
    known.discard(EVERYBODY)
    for role in roles:
        if role not in known:
            what = f"nothing in this shop is asked of the role '{role}'"
            near = [f"'{name}'" for name in near_names(role, sorted(known))]
            meant = f"did you mean {listed(near, 'or')}? " if near else ""
            yield Finding("PEO005", what, hint=f"{meant}roles of this shop are {', '.join(sorted(known))}")


def leave(session: Session, person: str, last_day: date, by: str) -> Changed:
    """Notes somebody's last day; whatever they wrote stays theirs, and their roles end with that day.

    Findings: PER001 nobody of this id; GAT002, PIN004, PIN005 the person who notes it may not.

    Raises:
        CannotDo: the file is written in a way that cannot be changed safely.
        OSError: the file cannot be written.
    """
    findings = [*allowed(session, "enrol", by), *unknown_person(session, person)]
    if blocking(findings):
        return Changed(None, tuple(findings))
    file = set_in_person(session.shop.folder, person, {"left": last_day.isoformat()})
    return Changed(file, tuple(findings))


@dataclass(frozen=True, slots=True)
class Delegation:
    """A role handed on from one person to another, from one day to another (both included)."""

    role: str
    giver: str
    taker: str
    since: date
    until: date


def delegate(session: Session, asked: Delegation, by: str) -> Changed:
    """Delegates a role for a time; entries signed with it name the person represented.

    Findings: PER001, PER003 who is unknown or will have left; PEO001 the role is not the giver's own on all
    of these days; PEO002 the days; PEO003 to oneself, or the taker holds it already; GAT002, PIN004, PIN005
    the person who hands it on may not.

    Raises:
        CannotDo: the file is written in a way that cannot be changed safely.
        OSError: the file cannot be written.
    """
    findings = [*_handing_on(session, asked, by), *_days(session, asked), *_persons(session, asked)]
    if blocking(findings):
        return Changed(None, tuple(findings))
    role = {
        "role": asked.role,
        "since": asked.since.isoformat(),
        "until": asked.until.isoformat(),
        "instead_of": asked.giver,
    }
    return Changed(add_role(session.shop.folder, asked.taker, role), tuple(findings))


def _handing_on(session: Session, asked: Delegation, by: str) -> Iterator[Finding]:
    """Everybody hands on what is theirs; what is somebody else's takes the right to delegate."""
    if by != asked.giver:
        yield from allowed(session, "delegate", by)
        return
    own = session.shop.people.get(by)
    if own is not None and not own.here(session.today):
        yield Finding("PER003", f"{by} left on {own.left}, this is {session.today}")
    yield from (*unknown_person(session, by), *unsigned(session, "delegate", by))


def _days(session: Session, asked: Delegation) -> Iterator[Finding]:
    if asked.until < asked.since:
        what = f"the delegation would end on {asked.until}, before it begins on {asked.since}"
        yield Finding("PEO002", what, hint="swap the two days")
    elif asked.since < session.today:
        what = f"a delegation begins today ({session.today}) or later; found {asked.since}"
        yield Finding("PEO002", what, hint="let it begin today")


def _persons(session: Session, asked: Delegation) -> Iterator[Finding]:
    people = session.shop.people
    for name in dict.fromkeys((asked.giver, asked.taker)):
        person = people.get(name)
        if person is None:
            yield from unknown_person(session, name)
        elif not person.here(asked.until):
            yield Finding("PER003", f"{name} leaves on {person.left}, the delegation ends {asked.until}")
    giver, taker = people.get(asked.giver), people.get(asked.taker)
    if giver is not None and not _holds_all_days(giver, asked, own=True):
        own = {role.role for role in giver.roles_on(asked.since) if role.instead_of is None}
        span = f"from {asked.since} to {asked.until}"
        what = f"{asked.giver} does not hold '{asked.role}' in their own right {span}"
        yield Finding("PEO001", what, hint=f"theirs are: {', '.join(sorted(own)) or 'none'}")
    if asked.giver == asked.taker:
        yield Finding("PEO003", "a role is handed on to somebody else", hint="name another person with --to")
    elif taker is not None and _holds_all_days(taker, asked, own=False):
        yield Finding("PEO003", f"{asked.taker} holds '{asked.role}' on these days already")


def _holds_all_days(person: Person, asked: Delegation, *, own: bool) -> bool:
    """Whether one role of the person covers the first and the last day; ``own``: not by delegation."""
    return any(
        held.role == asked.role
        and held in person.roles_on(asked.until)
        and not (own and held.instead_of is not None)
        for held in person.roles_on(asked.since)
    )
