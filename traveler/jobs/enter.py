"""Entering one result by hand, as from a paper sheet: by the same rules as a file of results."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from traveler.finding import Finding, Place
from traveler.jobs.judge import judge
from traveler.jobs.judged import Judged
from traveler.jobs.office import Office
from traveler.jobs.record import record_results
from traveler.jobs.units import known_unit
from traveler.record.entry import Entry
from traveler.record.readers.written import Results, Row, Written


@dataclass(frozen=True, slots=True)
class Result:
    """What is entered: the slot, the value as it stands on the paper, and what stands beside it."""

    slot: str
    value: str
    unit: str | None = None
    gauge: str | None = None
    as_found: bool = False
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Entered:
    """The entries that were added (none where a finding blocks), the unit with them, findings about them."""

    entries: tuple[Entry, ...]
    judged: Judged
    findings: tuple[Finding, ...]


def enter(office: Office, serial: str, result: Result, by: str, at: datetime | None = None) -> Entered:
    """Records one result of a slot; it is done now unless ``at`` says when, and judged at once.

    Findings: those of :func:`traveler.record.readers.understand.understand`, at the unit and not at a line,
    and PER001.

    Raises:
        CannotDo: no unit of this serial was issued here.
        StoreTrouble: the records cannot be written.
    """
    with office.store.reading() as records:
        known_unit(records, serial)
        before = len(records.entries(serial))
    done = record_results(office, Path(serial), as_results(office, serial, result, by, at), by)
    with office.store.reading() as records:
        after = judge(office, records, serial)
    return Entered(after.entries[before:] if done.added else (), after, done.findings)


def as_results(office: Office, serial: str, result: Result, by: str, at: datetime | None) -> Results:
    """The result in the form in which files of results are read."""
    place = Place(unit=serial)
    when = (at or office.now).astimezone(office.shop.zone).isoformat(timespec="microseconds")
    said = {
        "value": result.value, "unit": result.unit, "gauge": result.gauge, "note": result.note,
        "as_found": "yes" if result.as_found else None, "by": by, "at": when,
    }  # fmt: skip
    row = Row(
        Written(result.slot, place), {name: Written(text, place) for name, text in said.items() if text}
    )
    digest = hashlib.sha256(repr((serial, result, by, when, office.now)).encode()).hexdigest()
    return Results(serial, "paper", digest, {"serial": Written(serial, place)}, (row,))
