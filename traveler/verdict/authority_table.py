"""Who may do what, as a table: the one in force beside the safe defaults."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from traveler.shop.settings import Settings
from traveler.verdict.authority import AUTHORITY, EVERYBODY, ROLES, pin_for, roles_for

May = Literal["yes", "no"]


@dataclass(frozen=True, slots=True)
class Row:
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
            "roles": [role for role in self.roles if self.now[role] == "yes"],
            "default": [role for role in self.roles if self.default[role] == "yes"],
            "changed": list(self.changed),
            "pin": self.pin,
        }


def authority_rows(settings: Settings) -> tuple[Row, ...]:
    """The table in force, an action a row; the shop's own roles stand after those of the house."""
    own = dict.fromkeys(role for roles in settings.authority.values() for role in roles)
    roles = (*ROLES, *(role for role in own if role not in ROLES and role != EVERYBODY))
    asking = pin_for(settings)
    return tuple(
        Row(
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
