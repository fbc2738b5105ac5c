"""The session: an open shop, its records, the moment, and who has proved their PIN."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from traveler.record.entry import Body, Draft, Signable, Source
from traveler.record.store import Store
from traveler.shop.folder import Shop
from traveler.text import day_in


@dataclass(frozen=True, slots=True)
class Session:
    """What every job needs. ``now`` has a zone and is read once, so that one job has one time."""

    shop: Shop
    store: Store
    now: datetime
    language: str = ""
    """Of the sheets made in this job, where somebody asked for another than the shop's settings say."""
    proven: frozenset[str] = frozenset()
    """Ids of those whose PIN was right (:func:`traveler.jobs.sign.sign_in`)."""

    def speaks(self, *, customer: bool = False) -> str:
        """The language (or two, ``es+en``) of a sheet; ``customer``: of one that leaves with the unit."""
        settings = self.shop.settings
        return self.language or (customer and settings.customer_language) or settings.language

    @property
    def today(self) -> date:
        """The day in the shop's zone."""
        return day_in(self.shop.zone, self.now)

    def day(self, moment: datetime) -> date:
        """The day of a moment in the shop's zone."""
        return day_in(self.shop.zone, moment)

    def draft(
        self,
        unit: str,
        by: str,
        body: Body,
        *,
        at: datetime | None = None,
        slot: str | None = None,
        source: Source = "tool",
    ) -> Draft:
        """An entry about a unit, done now unless ``at`` says otherwise."""
        zone = self.shop.settings.time_zone
        if by in self.proven and isinstance(body, Signable):
            body = body.model_copy(update={"pin_checked": True})
        return Draft(unit=unit, at=at or self.now, zone=zone, by=by, slot=slot, body=body, source=source)
