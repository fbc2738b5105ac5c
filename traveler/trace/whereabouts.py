"""Where a unit is now, from its entries."""

from __future__ import annotations

from collections.abc import Sequence

from traveler.record.entry import Entry, Placed, Shipped
from traveler.verdict.counting import counting

STANDING_STILL = ("stopped", "scrapped")
"""States that do not tell where the unit is: it was stopped, or given up, wherever it had got to."""


def whereabouts(state: str, entries: Sequence[Entry]) -> str:
    """The unit's state with what a person needs to find it: the place in stock, or customer and day.

    ``entries`` are all of the unit's, struck ones too. The day is that of the shop's zone when it shipped.
    """
    standing = counting(entries)
    last = next((one for one in reversed(standing) if isinstance(one.body, Placed | Shipped)), None)
    if last is None:
        return state
    shipped = isinstance(last.body, Shipped)
    if state in STANDING_STILL:
        return f"{state}, {_said(last)}"
    return _said(last) if state == ("shipped" if shipped else "in stock") else state


def _said(entry: Entry) -> str:
    body = entry.body
    if isinstance(body, Shipped):
        return f"shipped to {body.customer} on {_day(entry)}"
    return f"in stock at {body.place}" if isinstance(body, Placed) else ""


def _day(entry: Entry) -> str:
    from zoneinfo import ZoneInfo

    return entry.at.astimezone(ZoneInfo(entry.zone or "UTC")).date().isoformat()
