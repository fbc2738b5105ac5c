"""Verifying that the records are what was written."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from traveler.finding import Finding
from traveler.jobs.office import Office
from traveler.jobs.units import known_unit
from traveler.record.audit import Audited, audit, audit_unit, missing_guards


@dataclass(frozen=True, slots=True)
class Verified:
    """The units that were looked at, and everything that is wrong with them and with the store."""

    units: tuple[Audited, ...]
    findings: tuple[Finding, ...]


def verify(office: Office, serials: Sequence[str] = ()) -> Verified:
    """Verifies these units, or every one: chains, frozen definitions, the index, the guards against changes.

    Findings: CHN001 to CHN009.

    Raises:
        CannotDo: one of the serials was never issued here.
    """
    with office.store.reading() as records:
        guards = missing_guards(records)
    units = tuple(_each(office, serials))
    return Verified(units, (*guards, *(finding for one in units for finding in one.findings)))


def _each(office: Office, serials: Sequence[str]) -> Iterator[Audited]:
    if not serials:
        yield from audit(office.store)
        return
    with office.store.reading() as records:
        units = [known_unit(records, one) for one in serials]
        yield from (audit_unit(records, unit) for unit in units)
