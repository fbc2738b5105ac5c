"""Verifying that the records are what was written."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from traveler.finding import Finding, Place
from traveler.jobs.office import Office
from traveler.jobs.units import known_unit
from traveler.record.chain import verify_rows
from traveler.record.kept import Kept
from traveler.record.records import Records
from traveler.record.unit import Unit


@dataclass(frozen=True, slots=True)
class Chain:
    """The chain of one unit: how many entries, the hash it ends in, what is wrong with it."""

    serial: str
    count: int
    head: str
    findings: tuple[Finding, ...]

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong with it."""
        return not self.findings

    def as_dict(self) -> dict[str, object]:
        """For ``--json``; the findings are listed by the command."""
        return {"serial": self.serial, "count": self.count, "head": self.head, "sound": self.sound}


@dataclass(frozen=True, slots=True)
class Verified:
    """The chains that were looked at, and everything that is wrong."""

    units: tuple[Chain, ...]
    findings: tuple[Finding, ...]


def verify(office: Office, serials: Sequence[str] = ()) -> Verified:
    """Verifies these units, or every one; also that each definition still has the digest it was issued with.

    Findings: CHN001 to CHN005; CHN006 the definition is not the one the unit was issued with; CHN007 the
    unit's first entry is no issue of it.

    Raises:
        CannotDo: one of the serials was never issued here.
    """
    with office.store.reading() as records:
        units = [known_unit(records, one) for one in serials] if serials else records.units()
        chains = tuple(_chain(records, unit) for unit in units)
    return Verified(chains, tuple(finding for one in chains for finding in one.findings))


def _chain(records: Records, unit: Unit) -> Chain:
    rows = tuple(records.rows(unit.serial))
    findings = verify_rows(rows, head=unit.head, count=unit.entries, unit=unit.serial)
    findings += [*_definition(records, unit), *_beginning(rows, unit)]
    return Chain(unit.serial, len(rows), unit.head, tuple(findings))


def _definition(records: Records, unit: Unit) -> Iterator[Finding]:
    kept = records.definition_of(unit.digest)
    if kept is None:
        yield _finding("CHN006", f"the definition {unit.digest[:12]} it was issued with is gone", unit)
    elif hashlib.sha256(kept.content.encode()).hexdigest() != unit.digest:
        yield _finding("CHN006", f"the definition {unit.digest[:12]} is not what was frozen", unit)


def _beginning(rows: Sequence[Kept], unit: Unit) -> Iterator[Finding]:
    """The issue names what the unit's row repeats for quick questions."""
    import json

    if not rows or rows[0].kind != "issued":
        yield _finding("CHN007", "its record does not begin with its issue", unit)
        return
    try:
        said = json.loads(rows[0].body)
    except ValueError:
        return  # CHN001 says so already
    for key in ("product", "revision", "variant", "digest", "order", "quantity"):
        if isinstance(said, dict) and said.get(key) != getattr(unit, key):
            what = f"{key} is noted as {getattr(unit, key)}, but it was issued with {said.get(key)}"
            yield _finding("CHN007", what, unit)


def _finding(code: str, what: str, unit: Unit) -> Finding:
    why = "a record that was changed after it was written proves nothing"
    return Finding(code, what, Place(unit=unit.serial), why=why, hint="restore a backup and compare the two")
