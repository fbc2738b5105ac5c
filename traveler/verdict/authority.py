"""Who may do what: one table of actions and roles, with safe defaults that ``shop.yaml`` can change."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal, NamedTuple

from traveler.finding import Finding, Place, Weight
from traveler.shop.people import People, Person
from traveler.shop.settings import Settings
from traveler.text import did_you_mean
from traveler.verdict.codes import weigh

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
    "calibrate": ("quality", "engineering"),
    "withdraw_gauge": (EVERYBODY,),
    "restore_gauge": ("quality", "engineering"),
    "delegate": ("director",),
    "unlock": ("quality", "director"),
    "enrol": ("director",),
    "take_over": ("quality", "director"),
}
"""Action → the roles that may. ``record``, ``inspect`` and ``pack`` are writing into slots of the build, the
final checks and the crating, which the role that signs the operation may too; ``concede`` is using as is;
``strike`` is striking out what somebody else wrote (everybody may strike out their own), ``withdraw`` is
striking out a decision, a hold point, a release or a later step of the unit's life; ``follow_up`` is a step
in the case of a complaint, ``close_case`` the last one; ``delegate`` is handing on somebody else's role for a
time (everybody may hand on their own), ``unlock`` letting somebody try their PIN again, ``enrol`` entering
people, their roles, their first PIN and their leaving, ``take_over`` taking over a record from a bag."""

LABELS: dict[str, str] = {
    "issue": "issue units",
    "record": "record build results",
    "inspect": "record final checks",
    "pack": "record crating",
    "stop": "stop units",
    "note": "write notes",
    "complain": "record complaints",
    "follow_up": "follow up cases",
    "close_case": "close cases",
    "reprint": "reprint sheets",
    "decide": "decide on stops",
    "concede": "use as is",
    "strike": "strike out others' entries",
    "withdraw": "strike out decisions",
    "release": "release units",
    "crate": "crate units",
    "place": "place units in stock",
    "ship": "ship units",
    "calibrate": "record calibrations",
    "withdraw_gauge": "withdraw gauges",
    "restore_gauge": "restore gauges",
    "delegate": "delegate others' roles",
    "unlock": "unlock PINs",
    "enrol": "add people",
    "take_over": "import records",
}
"""Action → what a person reads."""

PIN_FOR = ("release", "decide", "concede", "strike", "withdraw", "delegate", "unlock", "enrol", "take_over")
"""Actions that ask for a PIN unless the shop says otherwise: those that give something away."""

WITHOUT_PIN = frozenset({"issue", "record", "inspect", "pack", "reprint", "stop", "note", "complain"})
"""Actions that cannot ask for one: a sheet carries several names, printing gives nothing away, and nothing
may stand between anybody and a stop."""

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


def pin_for(settings: Settings) -> tuple[str, ...]:
    """The actions that ask for a PIN in this shop."""
    return PIN_FOR if settings.pin_for is None else settings.pin_for


def standing_in(person: Person, roles: tuple[str, ...], day: date) -> str | None:
    """The id of the person for whom this one stands in with one of these roles; None: for nobody."""
    if EVERYBODY in roles:
        return None
    held = [role for role in person.roles_on(day) if role.role in roles]
    if any(role.instead_of is None for role in held):
        return None
    return next((role.instead_of for role in held), None)


class Refusal(NamedTuple):
    """Why somebody may not do something: code, sentence, hint."""

    code: str
    what: str
    hint: str = ""


def absent_person(by: str, day: date | None, people: People) -> Refusal | None:
    """PER001 where nobody has this id, PER003 where the person had left by that day (None: any day)."""
    person = people.get(by)
    if person is None:
        return Refusal("PER001", f"nobody in the shop has the id {by!r}", nearest_person(by, people))
    if day is None or person.here(day):
        return None
    return Refusal("PER003", f"{by} left on {person.left}, this is dated {day}")


def refusal(action: str, by: str, roles: tuple[str, ...] | None, day: date, people: People) -> Refusal | None:
    """Why this person may not do the action on that day: PER001, PER003, GAT002.

    ``roles``: those that may; None: everybody who is at the shop.
    """
    person = people.get(by)
    if person is None or not person.here(day):
        return absent_person(by, day, people)
    if roles is None or holds_any(person, roles, day):
        return None
    held = ", ".join(sorted({role.role for role in person.roles_on(day)})) or "no role"
    allowed = ", ".join(roles) or "none"
    what = f"{by} ({held}) may not {LABELS.get(action, action)} on {day}; allowed roles: {allowed}"
    return Refusal("GAT002", what, "ask somebody with that role, or change people.yaml")


def may_act(
    action: str,
    by: str,
    days: date | Iterable[date],
    people: People,
    settings: Settings,
    *,
    place: Place | None = None,
) -> list[Finding]:
    """Why this person may not do the action on these days; empty if they may (GAT002, PER001, PER003).

    What is dated back takes the right on both days: the day given and today.
    """
    roles = roles_for(action, settings)
    for day in (days,) if isinstance(days, date) else days:
        found = refusal(action, by, roles, day, people)
        if found is not None:
            return [_finding(found.code, found.what, place or Place(), settings, found.hint)]
    return []


def nearest_person(by: str, people: People) -> str:
    """A hint naming the person most probably meant, or where people are listed."""
    titles = {person.id: person.name for person in people.people}
    return did_you_mean(by, people.by_id, "people are listed in people.yaml", titles)


def refused_authority(settings: Settings) -> list[Finding]:
    """Actions in ``authority`` and ``pin_for`` of the settings that do not exist or cannot be (GAT006).

    The place is the key.
    """
    known = f"actions are {', '.join(AUTHORITY)}"
    findings = [
        _finding("GAT006", f"authority: there is no action {action!r}", _key(action), settings, known)
        for action in settings.authority
        if action not in AUTHORITY
    ]
    for number, action in enumerate(settings.pin_for or ()):
        key = Place(slot=f"pin_for.{number}")
        if action not in AUTHORITY:
            text = f"pin_for: there is no action {action!r}"
            findings.append(_finding("GAT006", text, key, settings, known))
        elif action in WITHOUT_PIN:
            text = f"pin_for: '{action}' cannot ask for a PIN"
            asking = ", ".join(action for action in AUTHORITY if action not in WITHOUT_PIN)
            findings.append(_finding("GAT006", text, key, settings, f"those that can are {asking}"))
    return findings


def roles_of_nobody(settings: Settings, people: People) -> list[Finding]:
    """Roles in ``authority`` that are none of the house and that nobody ever held (GAT006, a warning)."""
    held = {role_held.role for person in people.people for role_held in person.roles}
    known = {*ROLES, EVERYBODY, *held}
    findings = []
    for action, roles in settings.authority.items():
        for role in roles:
            if role not in known:
                hint = did_you_mean(role, sorted(known), "give somebody the role in people.yaml")
                text = f"authority: {action} is for the role {role!r}, which nobody holds"
                findings.append(
                    replace(_finding("GAT006", text, _key(action), settings, hint), weight=Weight.WARNING)
                )
    return findings


def _key(action: str) -> Place:
    return Place(slot=f"authority.{action}")


def _finding(code: str, what: str, place: Place, settings: Settings, hint: str = "") -> Finding:
    return Finding(code, what, place, weigh(code, settings), hint=hint)


May = Literal["yes", "no"]


@dataclass(frozen=True, slots=True)
class AuthorityRow:
    """One action: for each role whether it may now, and by default; whether it asks for a PIN."""

    action: str
    roles: tuple[str, ...]
    now: Mapping[str, May]
    default: Mapping[str, May]
    pin: bool

    @property
    def changed(self) -> tuple[str, ...]:
        """The roles for which the shop says otherwise than the defaults."""
        return tuple(role for role in self.roles if self.now[role] != self.default[role])

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {
            "label": LABELS[self.action],
            "roles": [role for role in self.roles if self.now[role] == "yes"],
            "default": [role for role in self.roles if self.default[role] == "yes"],
            "changed": list(self.changed),
            "pin": self.pin,
        }


def authority_rows(settings: Settings) -> tuple[AuthorityRow, ...]:
    """The table in force, an action a row; the shop's own roles stand after those of the house."""
    own = dict.fromkeys(role for roles in settings.authority.values() for role in roles)
    roles = (*ROLES, *(role for role in own if role not in ROLES and role != EVERYBODY))
    asking = pin_for(settings)
    return tuple(
        AuthorityRow(
            action,
            roles,
            _cells(roles, roles_for(action, settings)),
            _cells(roles, AUTHORITY[action]),
            action in asking,
        )
        for action in AUTHORITY
    )


def _cells(roles: tuple[str, ...], allowed: tuple[str, ...]) -> dict[str, May]:
    return {role: "yes" if role in allowed or EVERYBODY in allowed else "no" for role in roles}


def authority_comment() -> str:
    """The safe defaults as lines of ``shop.yaml``, commented out, an action a line."""
    width = max(map(len, AUTHORITY))
    lines = (f"#  {action + ':':<{width + 1}} [{', '.join(roles)}]" for action, roles in AUTHORITY.items())
    return "\n".join(lines) + "\n"
