"""PINs: which ones are good enough, and their argon2id hashes (RFC 9106)."""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING

from traveler.finding import Finding, Place

if TYPE_CHECKING:
    from argon2 import PasswordHasher

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
