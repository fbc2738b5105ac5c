"""Who works here today, somebody who comes, and somebody who leaves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from difflib import get_close_matches
from pathlib import Path

from traveler.finding import Finding, Place, Weight, blocking
from traveler.jobs.office import Office
from traveler.jobs.people_file import change_people, with_person, with_value
from traveler.jobs.signing import locked_until, unsigned
from traveler.shop.folder import PEOPLE_FILE
from traveler.shop.people import Person, RoleHeld, is_person_id
from traveler.verdict.authority import AUTHORITY, ROLES, may_act, near, roles_for


@dataclass(frozen=True, slots=True)
class PersonToday:
    """A person with the roles they hold today; ``locked`` says until when they are locked out."""

    person: Person
    roles: tuple[RoleHeld, ...]
    here: bool
    locked: datetime | None

    def as_dict(self) -> dict[str, object]:
        """For ``--json``; the hash of the PIN is nobody's business."""
        return {
            "id": self.person.id,
            "name": self.person.name,
            "roles": [one.model_dump(mode="json") for one in self.roles],
            "here": self.here,
            "left": self.person.left.isoformat() if self.person.left is not None else None,
            "pin": self.person.pin is not None,
            "locked_until": self.locked.isoformat() if self.locked is not None else None,
        }


@dataclass(frozen=True, slots=True)
class Changed:
    """The file that was written (None where a finding stands in the way), and the findings."""

    file: Path | None
    findings: tuple[Finding, ...]


def people_today(office: Office, *, now: datetime | None = None) -> tuple[PersonToday, ...]:
    """Everybody in the order of the register; ``now`` stands in for the clock of the store in tests."""
    with office.store.reading() as records:
        trials, moment = records.pin_trials(), now or records.clock()
    day, settings = office.today, office.shop.settings
    return tuple(
        PersonToday(
            one,
            tuple(held for held in one.roles if held.on(day)) if one.here(day) else (),
            one.here(day),
            locked_until(trials.get(one.id), settings, moment),
        )
        for one in office.shop.people.people
    )


def enrol(office: Office, person: str, name: str, roles: Sequence[str], since: date, by: str) -> Changed:
    """Enters somebody new with their roles.

    Findings: PEO004 the id is taken, or not spelt like one, or there is no name; GAT002, PIN004, PIN005
    whoever enters may not; PEO005 (warning) a role that allows nothing here.

    Raises:
        CannotDo: the file is written in a way that cannot be changed safely.
        OSError: the file cannot be written.
    """
    findings = [*may_act("enrol", by, office.today, office.shop.people, office.shop.settings)]
    findings += [*unsigned(office, "enrol", by), *_new_person(office, person, name)]
    findings += _idle_roles(office, roles)
    if blocking(findings):
        return Changed(None, tuple(findings))
    held = [{"role": role, "since": since.isoformat()} for role in dict.fromkeys(roles)]
    said = with_person(person, " ".join(name.split()), held)
    return Changed(change_people(office.shop.folder, said, f"add {person}"), tuple(findings))


def _new_person(office: Office, person: str, name: str) -> Iterator[Finding]:
    if office.shop.people.get(person) is not None:
        what = f"the id '{person}' is taken; nobody is ever taken out"
        yield Finding("PEO004", what, Place(PEOPLE_FILE), hint="take another id")
    elif not is_person_id(person):
        what = f"'{person}' is not spelt like an id"
        yield Finding("PEO004", what, hint="small letters, digits, '-' and '_', a letter first")
    if not name.strip():
        yield Finding("PEO004", "the person has no name", hint="give it with --name")


def _idle_roles(office: Office, roles: Sequence[str]) -> Iterator[Finding]:
    """PEO005, a warning, for each role that nothing in this shop is asked of: mostly a slip of the pen."""
    settings = office.shop.settings
    named = {role for action in AUTHORITY for role in roles_for(action, settings)}
    known = {*ROLES, *named, *(one.role for person in office.shop.people.people for one in person.roles)}
    for role in roles:
        if role not in known:
            close = get_close_matches(role, known, n=1)
            hint = f"did you mean {close[0]}?" if close else f"roles are {', '.join(ROLES)}"
            what = f"nothing in this shop is asked of the role '{role}'"
            yield Finding("PEO005", what, weight=Weight.WARNING, hint=hint)


def leave(office: Office, person: str, last_day: date, by: str) -> Changed:
    """Notes somebody's last day; whatever they wrote stays theirs, and their roles end with that day.

    Findings: PER001 nobody of this id; GAT002, PIN004, PIN005 whoever notes it may not.

    Raises:
        CannotDo: the file is written in a way that cannot be changed safely.
        OSError: the file cannot be written.
    """
    people, settings = office.shop.people, office.shop.settings
    findings = [*may_act("enrol", by, office.today, people, settings), *unsigned(office, "enrol", by)]
    if people.get(person) is None:
        hint = near(person, people)
        findings.append(Finding("PER001", f"nobody in the shop has the id {person!r}", hint=hint))
    if blocking(findings):
        return Changed(None, tuple(findings))
    day = last_day.isoformat()
    file = change_people(office.shop.folder, with_value(person, "left", day), f"{person}: left: {day}")
    return Changed(file, tuple(findings))
