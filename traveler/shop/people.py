"""People: ids, names, and roles with the dates they hold."""

from __future__ import annotations

import re
from datetime import date
from functools import cached_property
from typing import Annotated

from pydantic import BeforeValidator, Field

from traveler.definition.fields import Frozen
from traveler.text import read_day

Day = Annotated[date, BeforeValidator(lambda day: read_day(day) if isinstance(day, str) else day)]
"""A day in a file of the shop, written as in every command."""

ID = re.compile(r"[a-z][a-z0-9_-]*")


def is_person_id(text: str) -> bool:
    """Whether the text is spelled like the id of a person."""
    return ID.fullmatch(text) is not None


class RoleHeld(Frozen):
    """A role somebody holds from a date, and until a date if it ended (inclusive)."""

    role: str
    since: Day
    until: Day | None = None
    instead_of: str | None = None
    """The id of the person whose absence this covers (a delegation, which should have an end)."""

    def on(self, day: date) -> bool:
        """Whether the role was held on that day."""
        return self.since <= day and (self.until is None or day <= self.until)


class Person(Frozen):
    """Somebody who may write. ``left`` is the last day at the shop."""

    id: str = Field(pattern=f"^{ID.pattern}$")
    name: str
    roles: tuple[RoleHeld, ...]
    left: Day | None = None
    pin: str | None = None
    """argon2id hash of the PIN."""
    pin_set_by: str | None = None
    """Who set the PIN: its owner, or somebody who may for them."""

    def here(self, day: date) -> bool:
        """Whether this person was still at the shop on that day."""
        return self.left is None or day <= self.left

    def roles_on(self, day: date) -> tuple[RoleHeld, ...]:
        """The roles in force on that day; none after the last day at the shop."""
        return tuple(held for held in self.roles if held.on(day)) if self.here(day) else ()

    def holds(self, role: str, day: date) -> bool:
        """Whether this person was here and held the role on that day."""
        return any(held.role == role for held in self.roles_on(day))


class People(Frozen):
    """Everybody, by id."""

    people: tuple[Person, ...] = ()

    @cached_property
    def by_id(self) -> dict[str, Person]:
        """Id → person; of two with one id the first."""
        return {person.id: person for person in reversed(self.people)}

    def get(self, person: str) -> Person | None:
        """The person of this id, or None."""
        return self.by_id.get(person)
