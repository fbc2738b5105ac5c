"""Serial and lot numbers: the pattern they are made by, and their check character (ISO/IEC 7064).

A serial is upper-case letters A to Z, digits and hyphens. Its last character is the check character of
MOD 37-2 over everything before it, a hyphen counting as the 37th character (the place that the standard
gives to ``*``). So any single wrong character and any swap of two neighbors is found, hyphens
included: two characters differ by less than 37, which is prime, and their weights and the differences of
neighboring weights are powers of two.

A definition may name MOD 37,36 instead (``check_character: mod37_36``). It is a hybrid system over letters
and digits only, hyphens passed over, and misses some swaps of neighbors; ``mistakable`` makes up for it.
Running numbers whose check character would be ``*``, or I or O, which look like 1 and 0, are skipped.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Literal

from traveler.finding import Finding, Place

System = Literal["mod37_2", "mod37_36"]
SYSTEM: System = "mod37_2"
"""The system of a definition that names none."""

SYSTEMS: tuple[System, ...] = ("mod37_2", "mod37_36")
"""Every system a definition may name."""

FIELDS = ("variant", "product", "yy", "yyyy", "ww", "mm", "n")
"""What a pattern may hold in braces; ``{n:04}`` is the running number with at least four digits."""

EXAMPLE = "BW4-2648-0026U"
"""A serial as it looks, for hints."""

LONGEST = 24
_SHORT = 8
"""A serial with fewer characters than this may lack its end."""

_FIELD = re.compile(r"\{([^{}]*)\}")
_NUMBER = re.compile(r"n(?::0([1-9]))?")
_SERIAL = re.compile(r"[0-9A-Z]+(?:-[0-9A-Z]+)*")
_NEVER = "IO*"
"""Check characters that are never given."""


def check_character(payload: str, system: System = SYSTEM) -> str:
    """The check character of a payload. MOD 37,36 passes hyphens over, having no character for them.

    >>> check_character("BW4-2639-0001")
    '1'

    Raises:
        ValueError: the payload holds something else than A to Z, 0 to 9 and hyphens.
    """
    from stdnum.iso7064 import mod_37_2, mod_37_36

    if not re.fullmatch(r"[0-9A-Z-]*[0-9A-Z][0-9A-Z-]*", payload):
        msg = f"{payload!r} holds something else than A to Z, 0 to 9 and hyphens"
        raise ValueError(msg)
    if system == "mod37_36":
        return str(mod_37_36.calc_check_digit(payload.replace("-", "")))
    return str(mod_37_2.calc_check_digit(payload.replace("-", "*")))


def tidy_serial(text: str) -> str:
    """The serial as it is compared: without blanks at its ends, in upper case."""
    return text.strip().upper() if text.isascii() else text.strip()


def check_character_ok(serial: str, systems: tuple[System, ...] = SYSTEMS) -> bool:
    """Whether the serial is one that can have been given: its form and its check character are right."""
    return serial_problem(serial, systems) is None


def serial_problem(serial: str, systems: tuple[System, ...] = SYSTEMS) -> Finding | None:
    """What is wrong with a serial, without knowing its product; None if it may be right in a system.

    Findings: SER001 the check character does not fit, SER002 it does not have the form of a serial.
    """
    tidy = tidy_serial(serial)
    place = Place(unit=tidy[:LONGEST])
    if wrong := _wrong_form(tidy):
        what = f"'{tidy[: LONGEST + 1]}' is not a serial: {wrong}"
        hint = f"write letters A to Z, digits and single hyphens, like {EXAMPLE}"
        return Finding("SER002", what, place, hint=hint)
    fits = any(tidy[-1] == check_character(tidy[:-1], system) for system in systems)
    if fits and tidy[-1] not in _NEVER:
        return None
    reason = "a character is wrong, or two changed places"
    if "-" not in tidy:
        reason = "its hyphens are missing, or a character is wrong"
    elif len(tidy) < _SHORT:
        reason = "it is too short, or a character is wrong"
    what = f"'{tidy}' is incomplete or mistyped: its check character does not fit; {reason}"
    return Finding("SER001", what, place, hint=f"read it again from the label, like {EXAMPLE}")


def _wrong_form(tidy: str) -> str:
    """What keeps a text from being a serial; empty where it has the form of one."""
    if strange := re.search(r"[^0-9A-Z-]", tidy):
        return "it contains a space" if strange[0].isspace() else f"it contains '{strange[0]}'"
    if not 2 <= len(tidy) <= LONGEST:
        return f"it is too {'short' if len(tidy) < 2 else 'long'}, 2 to {LONGEST} characters are expected"
    return "" if _SERIAL.fullmatch(tidy) else "a hyphen is at an end or beside another"


def mistakable(serial: str, system: System = SYSTEM) -> list[str]:
    """Serials that two changed places turn this one into and whose check character fits as well.

    None under MOD 37-2. Under MOD 37,36 there may be some. Issuing makes sure that none of them is given;
    then a swap never leads to another unit: it is refused as a serial that was never issued.

    >>> mistakable("BW4-2639-00011"), mistakable("BW4-2639-00016", "mod37_36")[:2]
    ([], ['BW-42639-00016', 'BW42-639-00016'])
    """
    swapped = (
        serial[:at] + serial[at + 1] + serial[at] + serial[at + 2 :]
        for at in range(len(serial) - 1)
        if serial[at] != serial[at + 1]
    )
    return [guess for guess in swapped if check_character_ok(guess, (system,))]


def make_serial(
    pattern: str, variant: str, n: int, today: date, product: str = "", system: System = SYSTEM
) -> str:
    """The serial of running number ``n``, with its check character.

    ``yy`` and ``yyyy`` are the year of the ISO week (ISO 8601) where the pattern has ``{ww}``, else the
    calendar year.

    >>> make_serial("BW{variant}-{yy}{ww}-{n:04}", "4", 1, date(2026, 9, 21))
    'BW4-2639-00011'
    """
    week = today.isocalendar()
    year = week.year if "{ww}" in pattern else today.year
    values = {
        "variant": variant,
        "product": product,
        "yy": f"{year % 100:02}",
        "yyyy": f"{year:04}",
        "ww": f"{week.week:02}",
        "mm": f"{today.month:02}",
    }
    payload = _FIELD.sub(lambda found: _field(found[1], values, n), pattern).upper()
    return payload + check_character(payload, system)


def _field(name: str, values: dict[str, str], n: int) -> str:
    if number := _NUMBER.fullmatch(name):
        return f"{n:0{number[1] or 1}}"
    return values[name]


def pattern_problems(pattern: str) -> list[tuple[str, str]]:
    """What is wrong with a pattern, each with a hint; the code is SER003 for all of them."""
    names = _FIELD.findall(pattern)
    there = f"there is {{{'}, {'.join(FIELDS)}}}"
    unknown = [name for name in names if name not in FIELDS and not _NUMBER.fullmatch(name)]
    problems = [(f"'{{{name}}}' is not known in a serial pattern", there) for name in unknown]
    numbers = [name for name in names if _NUMBER.fullmatch(name)]
    if len(numbers) != 1:
        problems.append(
            (f"the pattern has {len(numbers)} running numbers, one is expected", "write {n:04} once")
        )
    if "{ww}" in pattern and "{mm}" in pattern:
        problems.append(
            ("the pattern has both week and month", "weeks lie in two months; keep one of the two")
        )
    fixed = _FIELD.sub("", pattern)
    if re.search(r"[^0-9A-Z-]", fixed):
        problems.append(
            (f"'{fixed}' holds something else than A to Z, 0 to 9 and hyphens", "a serial is upper case")
        )
    if not _SERIAL.fullmatch(_FIELD.sub("0", pattern).upper()) and not re.search(r"[^0-9A-Z-]", fixed):
        problems.append(
            ("a hyphen stands at an end or beside another", "put single hyphens between the parts")
        )
    return problems
