"""Spreadsheets take the slot ``10-1`` for a date and save ``10-Jan`` or ``1-Oct``: the slot found again."""

from __future__ import annotations

import re
from collections.abc import Container

_MONTHS = (
    ("jan", "ene"), ("feb",), ("mar",), ("apr", "abr"), ("may",), ("jun",), ("jul",), ("aug", "ago"),
    ("sep",), ("oct",), ("nov",), ("dec", "dic"),
)  # fmt: skip
_NUMBER = {name: str(number) for number, names in enumerate(_MONTHS, 1) for name in names}
_DATE = re.compile(r"([0-9]{1,2})-([a-z]{3})\.?|([a-z]{3})\.?-([0-9]{1,2})", re.IGNORECASE)


def unmangled(text: str, slots: Container[str]) -> str | None:
    """The one slot that a spreadsheet shows as this date; None if there is none, or more than one.

    >>> unmangled("10-Jan", {"10-1", "10-2"})
    '10-1'
    """
    found = _DATE.fullmatch(text)
    if found is None:
        return None
    day, month = found[1] or found[4], _NUMBER.get((found[2] or found[3]).lower())
    if month is None:
        return None
    number = str(int(day))
    fits = {name for name in (f"{number}-{month}", f"{month}-{number}") if name in slots}
    return fits.pop() if len(fits) == 1 else None
