"""The office: a shop's folder, its open records, and the moment a job is done at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

from traveler.finding import Finding, Place, blocking
from traveler.record.entry import Body, Draft, Signable, Source
from traveler.record.store import Store
from traveler.shop.folder import SHOP_FILE, Opened, Shop, open_shop
from traveler.shop.reading import nearest
from traveler.verdict.authority import refused_authority, roles_of_nobody
from traveler.verdict.codes import refused_weights


@dataclass(frozen=True, slots=True)
class Office:
    """What every job needs. ``now`` has a zone and is read once, so that one job has one time."""

    shop: Shop
    store: Store
    now: datetime
    language: str = ""
    """Of the sheets made in this job, where somebody asked for another than the shop's settings say."""
    proven: frozenset[str] = frozenset()
    """Ids of those whose PIN was right (:func:`traveler.jobs.signing.sign_in`)."""

    def speaks(self, *, customer: bool = False) -> str:
        """The language (or two, ``es+en``) of a sheet; ``customer``: of one that leaves with the unit."""
        settings = self.shop.settings
        return self.language or (customer and settings.customer_language) or settings.language

    @property
    def today(self) -> date:
        """The day in the shop's zone."""
        return self.now.astimezone(self.shop.zone).date()

    def day(self, moment: datetime) -> date:
        """The day of a moment in the shop's zone."""
        return moment.astimezone(self.shop.zone).date()

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


@dataclass(frozen=True, slots=True)
class OpenedOffice:
    """The office, or None where a finding in the shop's files blocks."""

    office: Office | None
    findings: tuple[Finding, ...]


def open_office(folder: Path, now: datetime, *, database: str | None = None) -> OpenedOffice:
    """Opens the shop in this folder and its records; they are made where there are none yet.

    ``database`` is used instead of the address in ``shop.yaml``.

    Raises:
        StoreTrouble: the records cannot be opened.
    """
    opened = open_shop(folder)
    findings = (*opened.findings, *check_rules(opened, str(folder / SHOP_FILE)))
    if opened.shop is None or blocking(findings):
        return OpenedOffice(None, findings)
    store = Store.open(database or opened.shop.settings.database, folder=opened.shop.folder)
    return OpenedOffice(Office(opened.shop, store, now), findings)


def check_rules(opened: Opened, file: str) -> Iterator[Finding]:
    """What the settings may not say about weights and authority (GAT005, GAT006), placed in the file."""
    if opened.shop is None:
        return
    settings = opened.shop.settings
    wrong = (*refused_weights(settings), *refused_authority(settings))
    for finding in (*wrong, *roles_of_nobody(settings, opened.shop.people)):
        path = tuple((finding.place.slot or "").split("."))
        found = nearest(opened.settings_places, path, file)
        yield replace(finding, place=Place(found.file, found.line, found.column))
