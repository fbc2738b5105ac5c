"""Who may do what: one table of actions and roles, with safe defaults that ``shop.yaml`` can change.

The roles of the shop: ``assembler``, ``inspector``, ``quality``, ``packer``, ``engineering``, ``shipping``,
``director``. A shop may name more of them and give them actions under ``authority:``. What no setting can
change: who signed a build operation of a unit neither inspects nor releases it.
"""

from __future__ import annotations

from datetime import date

from traveler.finding import Finding, Place
from traveler.shop.people import People, Person
from traveler.shop.settings import Settings
from traveler.verdict.codes import CODES, weigh

ROLES = ("assembler", "inspector", "quality", "packer", "engineering", "shipping", "director")

EVERYBODY = "everybody"
"""Stands in the table for anybody who is at the shop, whatever their roles."""

AUTHORITY: dict[str, tuple[str, ...]] = {
    "issue": ("assembler", "inspector", "quality", "engineering", "director"),
    "record": ("assembler", "inspector", "quality", "engineering"),
    "inspect": ("inspector", "quality"),
    "pack": ("packer", "inspector", "quality", "shipping"),
    "stop": (EVERYBODY,),
    "note": (EVERYBODY,),
    "complain": (EVERYBODY,),
    "follow_up": ("quality", "engineering", "director"),
    "close_case": ("quality", "director"),
    "reprint": (EVERYBODY,),
    "decide": ("quality", "engineering"),
    "concede": ("quality",),
    "strike": ("quality",),
    "withdraw": ("quality", "director"),
    "release": ("quality",),
    "crate": ("packer", "shipping", "quality"),
    "place": ("packer", "shipping", "quality", "director"),
    "ship": ("shipping", "quality", "director"),
}
"""Action → the roles that may. ``record``, ``inspect`` and ``pack`` are writing into slots of the build, the
final checks and the crating, which the role that signs the operation may too; ``concede`` is using as is;
``strike`` is striking out what somebody else wrote (everybody may strike out their own), ``withdraw`` is
striking out a decision, a hold point, a release or a later step of the unit's life; ``follow_up`` is a step
in the case of a complaint, ``close_case`` the last one."""

STANDS_IN: dict[str, tuple[str, ...]] = {"inspector": ("quality",)}
"""Role a slot asks for → further roles whose holders may write there."""


def roles_for(action: str, settings: Settings) -> tuple[str, ...]:
    """The roles that may do the action in this shop."""
    return settings.authority.get(action, AUTHORITY.get(action, ()))


def holds_any(person: Person, roles: tuple[str, ...], day: date) -> bool:
    """Whether the person held one of the roles on that day; ``everybody``: was at the shop."""
    if EVERYBODY in roles:
        return person.here(day)
    return any(person.holds(role, day) for role in roles)


def may_act(
    action: str, by: str, day: date, people: People, settings: Settings, *, place: Place | None = None
) -> list[Finding]:
    """Why this person may not do the action on that day; empty if they may (GAT002, PER001, PER003)."""
    where = place or Place()
    person = people.get(by)
    if person is None:
        return [_finding("PER001", f"no person {by!r} in the shop", where, settings, near(by, people))]
    if not person.here(day):
        return [_finding("PER003", f"{by} left on {person.left}, this is {day}", where, settings)]
    roles = roles_for(action, settings)
    if holds_any(person, roles, day):
        return []
    held = ", ".join(sorted({one.role for one in person.roles if one.on(day)})) or "no role"
    text = f"to {action} takes the role {' or '.join(roles) or '(nobody holds one)'}; {by} holds {held}"
    return [_finding("GAT002", text, where, settings, "ask somebody with that role, or change people.yaml")]


def near(by: str, people: People) -> str:
    """A hint naming the person most probably meant, or where people are listed."""
    from difflib import get_close_matches

    found = get_close_matches(by, people.by_id, n=1)
    return f"did you mean {found[0]}?" if found else "people are listed in people.yaml"


def refused_authority(settings: Settings) -> list[Finding]:
    """Actions in ``authority`` of the settings that do not exist (GAT006); place is the key."""
    known = f"actions are {', '.join(AUTHORITY)}"
    return [
        _finding("GAT006", f"authority: there is no action {action!r}", _key(action), settings, known)
        for action in settings.authority
        if action not in AUTHORITY
    ]


def _key(action: str) -> Place:
    return Place(slot=f"authority.{action}")


def _finding(code: str, what: str, place: Place, settings: Settings, hint: str = "") -> Finding:
    return Finding(code, what, place, weigh(code, settings), CODES[code].why, hint)
