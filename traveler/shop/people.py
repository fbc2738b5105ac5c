"""People: ids, names, roles with the days they hold, and PINs with their argon2id hashes (RFC 9106)."""

from __future__ import annotations

import re
from datetime import date
from functools import cache, cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated

from pydantic import BeforeValidator, Field

from traveler.definition.fields import Frozen
from traveler.finding import Finding, Place
from traveler.text import read_day

if TYPE_CHECKING:
    from argon2 import PasswordHasher

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


MOST_DIGITS = 12

TIME_COST, MEMORY_KIB, LANES = 3, 65_536, 4
"""Passes, memory and lanes of argon2id: the second choice of RFC 9106, section 4, for small machines."""

HASH = re.compile(r"\$argon2id\$v=\d+\$m=\d+,t=\d+,p=\d+\$[A-Za-z0-9+/]+\$[A-Za-z0-9+/]+")
"""What a hash looks like; a text of another form in ``people.yaml`` is not a PIN."""

NOBODYS = "$argon2id$v=19$m=65536,t=3,p=4$bm9ib2R5IGhhcyB0aGlzIQ$MDEyMzQ1Njc4OWFiY2RlZjAxMjM0NTY3ODlhYmNkZWY"
"""A hash that no PIN has. A person without a PIN is checked against it, so that this takes just as long."""


EASY = frozenset({"2580", "0852", "1379", "1397", "2468", "1357", "1004", "6969", "2001", "1212"})
"""Further ones that many people choose (columns and corners of the keypad); common practice, no source."""


def weak_pin(pin: str, *, least: int = 4, person: str = "") -> list[Finding]:
    """Why this is not a good PIN (PIN006); empty if it is one: digits, not too few, no pattern in them."""
    where = Place()
    if not re.fullmatch(r"[0-9]+", pin):
        return [Finding("PIN006", "a PIN is made of the digits 0 to 9", where, hint="digits only")]
    if not least <= len(pin) <= MOST_DIGITS:
        what = f"a PIN has {least} to {MOST_DIGITS} digits; found {len(pin)}"
        return [Finding("PIN006", what, where, hint="take another")]
    pattern = _pattern(pin, person)
    return [Finding("PIN006", f"this PIN {pattern}", where, hint="take another")] if pattern else []


def _pattern(pin: str, person: str) -> str:
    """What makes the PIN easy to guess, or an empty text."""
    digits = [int(digit) for digit in pin]
    steps = {(after - before) % 10 for before, after in pairwise(digits)}
    if len(steps) == 1 and steps <= {0, 1, 9}:
        return "repeats one digit" if steps == {0} else "counts up or down"
    if any(pin == pin[:size] * (len(pin) // size) for size in range(2, len(pin) // 2 + 1)):
        return "repeats a few digits"
    if re.fullmatch(r"(19|20)\d\d", pin):
        return "could be a year"
    if pin in EASY:
        return "is one that many people choose"
    return "is in the id" if pin in person else ""


def hash_pin(pin: str) -> str:
    """The argon2id hash of a PIN, with a salt of its own."""
    return _hasher().hash(pin)


def pin_is_right(hashed: str | None, pin: str) -> bool:
    """Whether this is the PIN of the hash; takes as long for None and for a text that is not a hash."""
    from argon2.exceptions import InvalidHashError, VerificationError

    known = hashed is not None and HASH.fullmatch(hashed) is not None
    try:
        return _hasher().verify(hashed if known and hashed is not None else NOBODYS, pin) and known
    except (VerificationError, InvalidHashError):
        return False


def hash_is_old(hashed: str) -> bool:
    """Whether the hash was made with other parameters than those in use now."""
    return _hasher().check_needs_rehash(hashed)


@cache
def _hasher() -> PasswordHasher:
    from argon2 import PasswordHasher

    return PasswordHasher(time_cost=TIME_COST, memory_cost=MEMORY_KIB, parallelism=LANES)
