"""The history of a unit: what each entry says, which are struck out, and where the unit is now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import ClassVar

from traveler.definition.plan import Plan
from traveler.record.entry import (
    Entry,
    Placed,
    Shipped,
    Signable,
    done_order,
    recorded_late,
    standing_entries,
    struck_by,
)
from traveler.record.records import Unit
from traveler.result import Result
from traveler.sheets.entry_text import entry_text
from traveler.sheets.words import Words
from traveler.shop.settings import Settings
from traveler.text import day_in

ENGLISH = Words("en", {})
"""The words of the sheets as they are in the code."""

STANDING_STILL = ("stopped", "scrapped")
"""States that do not tell where the unit is: it was stopped, or given up, wherever it had got to."""


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Where a unit is, in words, and whether it is still ours.

    ``shipment`` is the entry by which a customer has it: a unit that is stopped or scrapped after it was
    shipped is still with the customer; one that is worked on again is not. ``gone``: it was scrapped.
    """

    text: str
    shipment: Entry | None = None
    gone: bool = False

    @property
    def with_customer(self) -> bool:
        """Whether a customer has it."""
        return self.shipment is not None

    @property
    def here(self) -> bool:
        """Whether it is in the shop, so that it can be worked on or stopped."""
        return not self.with_customer and not self.gone


def whereabouts(state: str, entries: Sequence[Entry]) -> Whereabouts:
    """The unit's state with what a person needs to find it: the place in stock, or customer and day.

    ``entries`` are all of the unit's, struck ones too. The day is that of the shop's zone when it shipped.
    """
    last, gone = _last_move(entries), state == "scrapped"
    if last is None:
        return Whereabouts(state, None, gone)
    shipped = isinstance(last.body, Shipped)
    if state in STANDING_STILL:
        return Whereabouts(f"{state}, {_said(last)}", last if shipped else None, gone)
    if state != ("shipped" if shipped else "in stock"):
        return Whereabouts(state)
    return Whereabouts(_said(last), last if shipped else None)


def _last_move(entries: Sequence[Entry]) -> Entry | None:
    standing = standing_entries(entries)
    return next((entry for entry in reversed(standing) if isinstance(entry.body, Placed | Shipped)), None)


def _said(entry: Entry) -> str:
    body = entry.body
    if isinstance(body, Shipped):
        return f"shipped to {body.customer} on {_day(entry)}"
    return f"in stock at {body.place}" if isinstance(body, Placed) else ""


def _day(entry: Entry) -> str:
    from zoneinfo import ZoneInfo

    return day_in(ZoneInfo(entry.zone or "UTC"), entry.at).isoformat()


def signer(entry: Entry) -> str:
    """Who an entry is by; ``awick for qmoor`` where somebody stood in."""
    absent = entry.body.instead_of if isinstance(entry.body, Signable) else None
    return f"{entry.by} for {absent}" if absent is not None else entry.by


@dataclass(frozen=True, slots=True)
class HistoryLine(Result):
    """One entry of a unit's life. ``label`` is the slot's own words; ``struck_by`` the seq that struck it.

    ``late``: how long after the work it was recorded, where the shop calls that late.
    """

    json_keys: ClassVar[str] = "*entry label text struck_by late_hours"

    entry: Entry
    label: str
    text: str
    struck_by: int | None = None
    late: timedelta | None = None

    @property
    def late_hours(self) -> int | None:
        """``late`` in whole hours."""
        return None if self.late is None else int(self.late.total_seconds() // 3600)


@dataclass(frozen=True, slots=True)
class History(Result):
    """A unit, where it is now, and its lines by the time the work was done (then by number)."""

    json_keys: ClassVar[str] = (
        "serial=unit.serial product=unit.product revision=unit.revision variant=unit.variant "
        "digest=unit.digest order=unit.order state=unit.state where count=unit.entries "
        "head=unit.head entries=lines"
    )

    unit: Unit
    where: str
    lines: tuple[HistoryLine, ...]


def history(
    unit: Unit, entries: Sequence[Entry], plan: Plan | None = None, settings: Settings | None = None
) -> History:
    """The unit's life from all its entries.

    With the plan, slots are shown by their labels; with the settings, what was recorded late is marked.
    """
    struck = struck_by(entries)
    labels = {slot.id: slot.label for slot in plan.slots()} if plan is not None else {}
    lines = (
        HistoryLine(
            entry,
            labels.get(entry.slot or "", ""),
            entry_text(entry.body, ENGLISH),
            struck.get(entry.seq),
            recorded_late(entry, settings.late_after_hours) if settings is not None else None,
        )
        for entry in sorted(entries, key=done_order)
    )
    return History(unit, whereabouts(unit.state, entries).text, tuple(lines))
