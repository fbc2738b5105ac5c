"""Where a unit is now, from its entries."""

from __future__ import annotations

from collections.abc import Sequence

from traveler.record.entry import Entry, Placed, Shipped
from traveler.verdict.counting import counting


def whereabouts(state: str, entries: Sequence[Entry]) -> str:
    """The unit's state with what a person needs to find it: the place in stock, or customer and day.

    ``entries`` are all of the unit's, struck ones too. The day is that of the shop's zone when it shipped.
    """
    for entry in reversed(counting(entries)):
        if state == "in stock" and isinstance(entry.body, Placed):
            return f"in stock at {entry.body.place}"
        if state == "shipped" and isinstance(entry.body, Shipped):
            return f"shipped to {entry.body.customer} on {_day(entry)}"
    return state


def _day(entry: Entry) -> str:
    from zoneinfo import ZoneInfo

    return entry.at.astimezone(ZoneInfo(entry.zone or "UTC")).date().isoformat()
