"""``traveler people``, ``authority``, ``delegate``, ``enrol`` and ``leave``: who is who, and who may what."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.clock import shown
from traveler.cli.options import By, Json, PinFile, Shop
from traveler.cli.present import answer, table
from traveler.cli.shop_at import session_at
from traveler.cli.signing import signed_in
from traveler.text import read_day

if TYPE_CHECKING:
    from traveler.jobs.people import Changed, PersonToday
    from traveler.verdict.authority import AuthorityRow

Person = Annotated[str, typer.Argument(metavar="PERSON", help="An id: small letters, digits, - and _.")]


def register(app: typer.Typer) -> None:
    """Add ``people``, ``authority``, ``delegate``, ``enrol`` and ``leave``."""
    app.command(name="people")(people)
    app.command(name="authority")(authority)
    app.command(name="delegate")(delegate)
    app.command(name="enrol")(enrol)
    app.command(name="leave")(leave)


def people(
    every: Annotated[bool, typer.Option("--all", help="Those who left as well.")] = False,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """List who works here: roles held today and for whom, whether they have a PIN, whether it is locked.

    Example: traveler people
    """
    from traveler.jobs.people import people_today

    with session_at(shop) as session:
        found = [person for person in people_today(session) if every or person.here]
        zone = session.shop.settings.time_zone
    columns = ("id", "name", "roles today", "PIN", "here")
    rows = [
        (serial.person.id, serial.person.name, _roles(serial), _pin(serial, zone), _here(serial))
        for serial in found
    ]
    text = table(columns, rows) if found else "nobody is in people.yaml yet"
    return answer({"people": [serial.as_dict() for serial in found]}, text=text, json_wanted=json_wanted)


def authority(json_wanted: Json = False, shop: Shop = None) -> int:
    """Show who may do what in this shop, and what it changed against the safe defaults.

    Example: traveler authority
    """
    from traveler.verdict.authority import authority_rows

    with session_at(shop) as session:
        rows = authority_rows(session.shop.settings)
    result = {"actions": {row.action: row.as_dict() for row in rows}}
    return answer(result, text=_authority(rows), json_wanted=json_wanted)


def delegate(
    role: Annotated[str, typer.Argument(metavar="ROLE", help="The role that is handed on.")],
    giver: Annotated[str, typer.Option("--from", metavar="ID", help="Whose role it is.")],
    taker: Annotated[str, typer.Option("--to", metavar="ID", help="Who stands in.")],
    until: Annotated[str, typer.Option("--until", metavar="DAY", help="The last day, as 2026-12-12.")],
    by: By,
    since: Annotated[
        str | None, typer.Option("--since", metavar="DAY", help="The first day. Without it: today.")
    ] = None,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Hand a role on to somebody else while its holder is away; the record says who stood in for whom.

    Everybody may hand on what is their own, the director what is anybody's. It ends by itself.

    Example: traveler delegate quality --from qmoor --to iwren --until 2026-12-12 --by qmoor
    """
    from traveler.jobs.people import Delegation
    from traveler.jobs.people import delegate as job

    last = read_day(until)
    with session_at(shop) as session:
        asked = Delegation(role, giver, taker, read_day(since) if since is not None else session.today, last)
        done = job(signed_in(session, by, "delegate", pin_file), asked, by)
    text = f"{taker} stands in as {role} for {giver} from {asked.since} to {asked.until}"
    return _changed(done, text, json_wanted=json_wanted)


def enrol(
    person: Person,
    name: Annotated[str, typer.Option("--name", metavar="NAME", help="As it stands on certificates.")],
    by: By,
    roles: Annotated[
        list[str] | None, typer.Option("--role", metavar="ROLE", help="A role; more than once if need be.")
    ] = None,
    since: Annotated[
        str | None, typer.Option("--since", metavar="DAY", help="The first day. Without it: today.")
    ] = None,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Enter somebody new, with the roles they hold from a day on.

    Example: traveler enrol bwick --name "B. Wick" --role assembler --by dmarrow
    """
    from traveler.jobs.people import enrol as job

    with session_at(shop) as session:
        day = read_day(since) if since is not None else session.today
        done = job(signed_in(session, by, "enrol", pin_file), person, name, roles or (), day, by)
    held = f"as {', '.join(roles)} from {day}" if roles else "without a role"
    return _changed(done, f"{person} entered {held}", json_wanted=json_wanted)


def leave(
    person: Person,
    on: Annotated[str, typer.Option("--on", metavar="DAY", help="Their last day, as 2026-12-31.")],
    by: By,
    pin_file: PinFile = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Note somebody's last day: their roles end with it, and what they wrote stays theirs.

    Example: traveler leave tkiln --on 2026-12-31 --by dmarrow
    """
    from traveler.jobs.people import leave as job

    day = read_day(on)
    with session_at(shop) as session:
        done = job(signed_in(session, by, "enrol", pin_file), person, day, by)
    return _changed(done, f"{person}: the last day is {day}", json_wanted=json_wanted)


def _changed(done: Changed, text: str, *, json_wanted: bool) -> int:
    result = {"file": str(done.file) if done.file is not None else None}
    return answer(result, done.findings, text=text if done.file is not None else "", json_wanted=json_wanted)


def _roles(person_today: PersonToday) -> str:
    return ", ".join(
        held.role + (f" for {held.instead_of} until {held.until}" if held.instead_of is not None else "")
        for held in person_today.roles
    )


def _pin(person_today: PersonToday, zone: str) -> str:
    if person_today.locked is not None:
        return f"locked until {shown(person_today.locked, zone)}"
    if person_today.person.pin is None:
        return "none"
    setter = person_today.person.pin_set_by
    return "set" if setter in (None, person_today.person.id) else f"set by {setter}"


def _here(person_today: PersonToday) -> str:
    left = person_today.person.left
    return "yes" if left is None else f"{'until' if person_today.here else 'left'} {left}"


def _authority(rows: tuple[AuthorityRow, ...]) -> str:
    """The table: a mark where a role may, +/- where the shop gave or took it."""
    marks = {("yes", "yes"): "●", ("yes", "no"): "+", ("no", "yes"): "−", ("no", "no"): ""}
    roles = rows[0].roles if rows else ()
    cells = [
        (row.action, *(marks[row.now[role], row.default[role]] for role in roles), "PIN" if row.pin else "")
        for row in rows
    ]
    drawn = table(("action", *roles, "asks for"), cells)
    legend = "● may   + may, by this shop's settings   − may not, by this shop's settings"
    return f"{drawn}\n{legend}"
