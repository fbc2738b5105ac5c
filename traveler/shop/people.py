"""People: ids, names, and roles with the dates they hold."""

from __future__ import annotations

from datetime import date

from pydantic import Field

from traveler.definition.plan import Frozen


class RoleHeld(Frozen):
    """A role somebody holds from a date, and until a date if it ended (inclusive)."""

    role: str
    since: date
    until: date | None = None

    def on(self, day: date) -> bool:
        """Whether the role was held on that day."""
        return self.since <= day and (self.until is None or day <= self.until)


class Person(Frozen):
    """Somebody who may write. ``left`` is the last day at the shop."""

    id: str = Field(pattern=r"^[a-z][a-z0-9_-]*$")
    name: str
    roles: tuple[RoleHeld, ...]
    left: date | None = None
    pin: str | None = None
    """argon2id hash of the PIN."""

    def holds(self, role: str, day: date) -> bool:
        """Whether this person was here and held the role on that day."""
        here = self.left is None or day <= self.left
        return here and any(held.role == role and held.on(day) for held in self.roles)


class People(Frozen):
    """Everybody, by id."""

    people: tuple[Person, ...] = ()

    def get(self, person: str) -> Person | None:
        """The person of this id, or None."""
        return next((one for one in self.people if one.id == person), None)
