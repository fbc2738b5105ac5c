"""A role handed on for a time, so that nothing waits for who is away."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from traveler.finding import Finding, blocking
from traveler.jobs.office import Office
from traveler.jobs.people import Changed
from traveler.jobs.people_file import change_people, with_role
from traveler.jobs.signing import unsigned
from traveler.shop.people import Person
from traveler.verdict.authority import may_act, near


@dataclass(frozen=True, slots=True)
class Delegation:
    """A role handed on from one person to another, from one day to another (both included)."""

    role: str
    giver: str
    taker: str
    since: date
    until: date


def delegate(office: Office, asked: Delegation, by: str) -> Changed:
    """Hands a role on for a time; whoever stands in may then do what it allows, and the record says for whom.

    Findings: PER001, PER003 who is unknown or will have left; PEO001 the role is not the giver's own on all
    of these days; PEO002 the days; PEO003 to oneself, or the taker holds it already; GAT002, PIN004, PIN005
    whoever hands it on may not.

    Raises:
        CannotDo: the file is written in a way that cannot be changed safely.
        OSError: the file cannot be written.
    """
    findings = [*_handing_on(office, asked, by), *_days(office, asked), *_persons(office, asked)]
    if blocking(findings):
        return Changed(None, tuple(findings))
    role = {
        "role": asked.role,
        "since": asked.since.isoformat(),
        "until": asked.until.isoformat(),
        "instead_of": asked.giver,
    }
    by_hand = f"give {asked.taker} the role {role}"
    file = change_people(office.shop.folder, with_role(asked.taker, role), by_hand)
    return Changed(file, tuple(findings))


def _handing_on(office: Office, asked: Delegation, by: str) -> Iterator[Finding]:
    """Everybody hands on what is theirs; what is somebody else's takes the right to delegate."""
    people, settings = office.shop.people, office.shop.settings
    if by != asked.giver:
        yield from may_act("delegate", by, office.today, people, settings)
    elif (own := people.get(by)) is None:
        yield Finding("PER001", f"nobody in the shop has the id {by!r}", hint=near(by, people))
    elif not own.here(office.today):
        yield Finding("PER003", f"{by} left on {own.left}, this is {office.today}")
    yield from unsigned(office, "delegate", by)


def _days(office: Office, asked: Delegation) -> Iterator[Finding]:
    if asked.until < asked.since:
        what = f"the delegation would end on {asked.until}, before it begins on {asked.since}"
        yield Finding("PEO002", what, hint="swap the two days")
    elif asked.since < office.today:
        what = f"a delegation begins today ({office.today}) or later; found {asked.since}"
        why = "nobody is allowed afterwards what they were not when they did it"
        yield Finding("PEO002", what, why=why, hint="let it begin today")


def _persons(office: Office, asked: Delegation) -> Iterator[Finding]:
    people = office.shop.people
    for name in dict.fromkeys((asked.giver, asked.taker)):
        person = people.get(name)
        if person is None:
            yield Finding("PER001", f"nobody in the shop has the id {name!r}", hint=near(name, people))
        elif not person.here(asked.until):
            yield Finding("PER003", f"{name} leaves on {person.left}, the delegation ends {asked.until}")
    giver, taker = people.get(asked.giver), people.get(asked.taker)
    if giver is not None and not _holds_all_days(giver, asked, own=True):
        own = {one.role for one in giver.roles if one.instead_of is None and one.on(asked.since)}
        span = f"from {asked.since} to {asked.until}"
        what = f"{asked.giver} does not hold '{asked.role}' in their own right {span}"
        yield Finding("PEO001", what, why=_WHY_OWN, hint=f"theirs are: {', '.join(sorted(own)) or 'none'}")
    if asked.giver == asked.taker:
        yield Finding("PEO003", "a role is handed on to somebody else", hint="name another person with --to")
    elif taker is not None and _holds_all_days(taker, asked, own=False):
        yield Finding("PEO003", f"{asked.taker} holds '{asked.role}' on these days already")


_WHY_OWN = "nobody can hand on what they do not hold, nor what was handed to them"


def _holds_all_days(person: Person, asked: Delegation, *, own: bool) -> bool:
    """Whether one role of the person covers the first and the last day; ``own``: not by delegation."""
    return any(
        held.role == asked.role
        and held.on(asked.since)
        and held.on(asked.until)
        and not (own and held.instead_of is not None)
        for held in person.roles
    )
