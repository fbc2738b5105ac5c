"""The group ``people``: who works here, who may do what, who stands in for whom, and PINs."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from traveler.cli.answer import Answer, Column, Found, table, unless
from traveler.cli.request import (
    Request,
    arg,
    at_keyboard,
    command,
    complete_people,
    first_line,
    flag,
    opt,
    proven,
    shown,
    typed,
)
from traveler.finding import CannotDo, blocking
from traveler.text import read_day

if TYPE_CHECKING:
    from traveler.jobs.people import Changed, PersonToday
    from traveler.shop.session import Session
    from traveler.verdict.authority import AuthorityRow

NewPerson = Annotated[str, arg("PERSON", "An id: small letters, digits, - and _.")]
Person = Annotated[str, arg("PERSON", "An id from people.yaml.", autocompletion=complete_people)]
UNCHANGED = "Nothing was changed."
FirstDay = Annotated[str | None, opt("DAY", "The first day. Without it: today.", "--since")]


@command("people list")
def list_people(
    request: Request, every: Annotated[bool, flag("Also those who left.", "--all")] = False
) -> Answer:
    """List who works here: roles today, PIN, lock-out.

    Example: traveler people list
    """
    from traveler.jobs.people import people_today

    with request.session() as session:
        found = [person for person in people_today(session) if every or person.here]
        zone = session.shop.settings.time_zone
    columns = ("id", Column("name", drop=1), Column("roles today", text=True), "PIN", Column("here", drop=2))
    rows = [(each.person.id, each.person.name, _roles(each), _pin(each, zone), _here(each)) for each in found]
    lines = [table(columns, rows) if found else "nobody is in people.yaml yet"]
    return Answer({"people": [person.as_dict() for person in found]}, lines)


def _roles(person: PersonToday) -> str:
    return ", ".join(
        held.role + (f" for {held.instead_of} until {held.until}" if held.instead_of is not None else "")
        for held in person.roles
    )


def _pin(listed: PersonToday, zone: str) -> str:
    if listed.locked is not None:
        return f"locked until {shown(listed.locked, zone)}"
    if listed.person.pin is None:
        return "none"
    setter = listed.person.pin_set_by
    return "set" if setter in (None, listed.person.id) else f"set by {setter}"


def _here(listed: PersonToday) -> str:
    left = listed.person.left
    return "yes" if left is None else f"{'until' if listed.here else 'left'} {left}"


@command("people authority")
def authority(request: Request) -> Answer:
    """Show who may do what in this shop.

    + and − mark what shop.yaml changed from the defaults.

    Example: traveler people authority
    """
    from traveler.verdict.authority import authority_rows

    with request.session() as session:
        rows = authority_rows(session.shop.settings)
    return Answer({"actions": {row.action: row.as_dict() for row in rows}}, [_authority(rows)])


def _authority(rows: Sequence[AuthorityRow]) -> str:
    """The roles that may, an action a row; + or − where the shop gave or took one."""
    from traveler.verdict.authority import LABELS

    cells = [(LABELS[row.action], _allowed(row), "PIN" if row.pin else "") for row in rows]
    legend = "+ may, by this shop's settings   − may not, by this shop's settings"
    return f"{table(('action', Column('roles', text=True), 'asks for'), cells)}\n{legend}"


def _allowed(row: AuthorityRow) -> str:
    """``assembler, +packer, −quality``; ``everybody`` where every role may."""
    marks = {("yes", "yes"): "", ("yes", "no"): "+", ("no", "yes"): "−"}
    states = {role: (row.now[role], row.default[role]) for role in row.roles}
    if set(states.values()) == {("yes", "yes")}:
        return "everybody"
    return ", ".join(f"{marks[state]}{role}" for role, state in states.items() if state in marks)


@command("people add", by="needed", pin=True)
def add(
    request: Request,
    person: NewPerson,
    name: Annotated[str, opt("NAME", "As on certificates.")],
    roles: Annotated[list[str] | None, opt("ROLE", "A role; may repeat.", "--role")] = None,
    since: FirstDay = None,
) -> Answer:
    """Add a new person, with roles from a day on.

    Example: traveler people add bwick --name "B. Wick" --role assembler --by dmarrow
    """
    from traveler.jobs.people import enrol as job

    with request.session("enrol") as session:
        first = read_day(since) if since is not None else session.today
        done = job(session, person, name, roles or (), first, request.person)
    held = f"as {', '.join(roles)} from {first}" if roles else "without a role"
    return _changed(done, f"{person} added {held}")


@command("people leave", by="needed", pin=True)
def leave(
    request: Request,
    person: Person,
    on: Annotated[str, opt("DAY", "Their last day: 2026-12-31.")],
) -> Answer:
    """Enter a person's last day; their roles end with it.

    Example: traveler people leave tkiln --on 2026-12-31 --by dmarrow
    """
    from traveler.jobs.people import leave as job

    last = read_day(on)
    with request.session("enrol") as session:
        done = job(session, person, last, request.person)
    return _changed(done, f"{person}: the last day is {last}")


@command("people delegate", by="needed", pin=True)
def delegate(
    request: Request,
    role: Annotated[str, arg("ROLE", "The role that is delegated.")],
    giver: Annotated[str, opt("ID", "The holder of the role.", "--from")],
    taker: Annotated[str, opt("ID", "Who stands in.", "--to")],
    until: Annotated[str, opt("DAY", "The last day: 2026-12-12.")],
    since: FirstDay = None,
) -> Answer:
    """Delegate a role while its holder is away.

    The record shows who stood in for whom. You may delegate your own role; the director may delegate
    anybody's. It ends by itself.

    Example: traveler people delegate quality --from qmoor --to iwren --until 2026-12-12 --by qmoor
    """
    from traveler.jobs.people import Delegation
    from traveler.jobs.people import delegate as job

    last = read_day(until)
    with request.session("delegate") as session:
        first = read_day(since) if since is not None else session.today
        asked = Delegation(role, giver, taker, first, last)
        done = job(session, asked, request.person)
    return _changed(done, f"{taker} stands in as {role} for {giver} from {asked.since} to {asked.until}")


def _changed(done: Changed, text: str) -> Answer:
    result = {"file": str(done.file) if done.file is not None else None}
    lines = [text] if done.file is not None else []
    return Answer(result, lines, done.findings, undone=unless(done.file, UNCHANGED))


@command("people pin", by="optional", pin=True)
def set_pin(
    request: Request,
    person: Person,
    new: Annotated[
        Path | None,
        opt("FILE", "File with the new PIN (- is standard input). Without it: asked.", "--new-pin-file")
    ] = None,
) -> Answer:  # fmt: skip
    """Set a person's PIN; --by if somebody else sets it.

    Only its argon2id hash is stored, in people.yaml. You change your own with the PIN you have
    (--pin-file). A first PIN is set by somebody who may add people, or by anybody as long as none of those
    has one. A forgotten PIN is replaced by quality or the director.

    Example: traveler people pin qmoor
    """
    from traveler.jobs.sign import may_set_pin
    from traveler.jobs.sign import set_pin as job

    who = request.by or person
    with request.session() as session:
        signed = _setter(request, session, person, who)
        refused = may_set_pin(signed, person, who)
        if blocking(refused):
            raise Found(refused)
        done = job(signed, person, _new_pin(person, new), who)
    result = {"person": person, "file": str(done.file) if done.file is not None else None}
    lines = [f"{person}: PIN set by {who}, in {done.file}"] if done.done else []
    return Answer(result, lines, done.findings, undone=unless(done.done, UNCHANGED))


def _setter(request: Request, session: Session, person: str, who: str) -> Session:
    """The session once the person who sets the PIN has given their own, if they have one."""
    setter, owner = session.shop.people.get(who), session.shop.people.get(person)
    if setter is None or setter.pin is None:
        return session
    if who == person:
        return proven(session, who, request.pin_file)
    return request.signed(session, "unlock" if owner is not None and owner.pin is not None else "enrol")


def _new_pin(person: str, file: Path | None) -> str:
    """The new PIN, typed twice on a terminal.

    Raises:
        CannotDo: the two differ.
    """
    if file is not None:
        return first_line(file)
    if sys.stdin is None or not at_keyboard():
        return first_line(Path("-"))
    pin = typed(f"new PIN of {person}: ")
    if typed("the same again: ") != pin:
        what = "the two PINs differ"
        raise CannotDo(what, "nothing was set; do it again")
    return pin


@command("people unlock", by="needed", pin=True)
def unlock(request: Request, person: Person) -> Answer:
    """Let a person who was locked out try again.

    Quality or the director may.

    Example: traveler people unlock pstrap --by qmoor
    """
    from traveler.jobs.sign import unlock as job

    with request.session("unlock") as session:
        done = job(session, person, request.person)
    lines = [f"{person}: may try again"] if done.done else []
    result = {"person": person, "done": done.done}
    return Answer(result, lines, done.findings, undone=unless(done.done, UNCHANGED))
