"""Opening a shop and its records, the rules in its settings checked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from traveler.finding import Finding, Place, blocking
from traveler.record.store import Store
from traveler.shop.folder import SHOP_FILE, Opened, open_shop, place_of
from traveler.shop.session import Session
from traveler.verdict.authority import refused_authority, roles_of_nobody
from traveler.verdict.codes import refused_weights


@dataclass(frozen=True, slots=True)
class OpenedSession:
    """The session, or None where a finding in the shop's files blocks."""

    session: Session | None
    findings: tuple[Finding, ...]


def open_session(folder: Path, now: datetime, *, database: str | None = None) -> OpenedSession:
    """Opens the shop in this folder and its records; they are made where there are none yet.

    ``database`` is used instead of the address in ``shop.yaml``.

    Raises:
        StoreError: the records cannot be opened.
    """
    opened = open_shop(folder)
    findings = (*opened.findings, *check_rules(opened, str(folder / SHOP_FILE)))
    if opened.shop is None or blocking(findings):
        return OpenedSession(None, findings)
    store = Store.open(database or opened.shop.settings.database, folder=opened.shop.folder)
    return OpenedSession(Session(opened.shop, store, now), findings)


def check_rules(opened: Opened, file: str) -> Iterator[Finding]:
    """What the settings may not say about weights and authority (GAT005, GAT006), placed in the file."""
    if opened.shop is None:
        return
    settings = opened.shop.settings
    wrong = (*refused_weights(settings), *refused_authority(settings))
    for finding in (*wrong, *roles_of_nobody(settings, opened.shop.people)):
        path = tuple((finding.place.slot or "").split("."))
        found = place_of(opened.settings_places, path, file)
        yield replace(finding, place=Place(found.file, found.line, found.column))
