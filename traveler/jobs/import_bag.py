"""Taking over the record of a unit from a bag that was exported, here or in another shop."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from traveler.finding import Finding, Place, Weight
from traveler.jobs.seal import seal_units
from traveler.jobs.sign import allowed
from traveler.record.archive.bag import BagRecord, opened_bag, read_bag
from traveler.record.plans import plan_as_issued
from traveler.record.records import DefinitionDiffers, IssuedDefinition
from traveler.record.store import Transaction
from traveler.record.stored import to_entry
from traveler.shop.session import Session
from traveler.verdict.state import state_after


@dataclass(frozen=True, slots=True)
class Imported:
    """The unit of the bag (None where it could not be read), what was added, and every finding."""

    serial: str | None
    entries: int
    attachments: int
    findings: tuple[Finding, ...]


def import_bag(session: Session, path: Path, by: str) -> Imported:
    """Takes over the unit in a bag: definition, entries, attachments; all of it or nothing.

    Where the unit is here already with the same beginning, only what is missing is added; a bag that was
    imported before adds nothing. What is in it passed no gate here, so somebody answers for taking it over.
    Findings: PER001, PER003, GAT002, PIN004, PIN005 they may not; BAG001 to BAG005
    (:mod:`traveler.record.archive.bag`), BAG006 a part of the record that is missing or cannot be read,
    BAG007
    entries that do not follow one another, BAG008 the definition, the unit or an attachment is not the one
    the entries name, BAG009 the unit is here with other entries, BAG010 the records here go on after the bag
    (a note); STO001 another definition is kept under the same revision; SER001, SER002 a serial that cannot
    be one; SEA010, SEA011 (warnings) what went wrong with sealing it here.

    Raises:
        CannotDo: there is no such bag.
    """
    refused = allowed(session, "take_over", by)
    if refused:
        return Imported(None, 0, 0, refused)
    with opened_bag(path) as opened:
        if not isinstance(opened, Path):
            return Imported(None, 0, 0, tuple(opened))
        content, findings = read_bag(opened, path)
    if content is None:
        return Imported(None, 0, 0, tuple(findings))
    return _take(session, content, path)


def _take(session: Session, content: BagRecord, path: Path) -> Imported:
    serial = content.rows[0].unit
    with session.store.transaction() as work:
        findings = _conflicts(work, content, path)
        if any(finding.weight is Weight.BLOCKING for finding in findings):
            work.abandon()
            return Imported(serial, 0, 0, tuple(findings))
        if findings:
            return Imported(serial, 0, 0, tuple(findings))
        entries = tuple(map(to_entry, content.rows))
        state = str(state_after(entries, plan_as_issued(work, content.issued)))
        added = work.adopt(content.rows, state)
        new = [
            attachment for attachment, _ in content.attachments if work.attachment(attachment.digest) is None
        ]
        for attachment, kept in content.attachments:
            work.keep_file(attachment, kept, session.now)
    sealed = seal_units(session, [serial]).findings if added else ()
    return Imported(serial, added, len(new), sealed)


def _conflicts(work: Transaction, content: BagRecord, path: Path) -> list[Finding]:
    """What is kept here and does not go together with the bag; the definition is frozen on the way."""
    first, issued = to_entry(content.rows[0]), content.issued
    frozen = IssuedDefinition(issued.product, issued.revision, issued.digest, content.definition, first.at)
    kept = work.put_definition(frozen)
    if isinstance(kept, DefinitionDiffers):
        return [kept.finding()]
    unit = work.unit(first.unit)
    if unit is None:
        return []
    here = {row.seq: row.hash for row in work.rows(first.unit)}
    both = range(1, min(len(here), len(content.rows)) + 1)
    differs = next((seq for seq in both if here.get(seq) != content.rows[seq - 1].hash), None)
    if differs is not None or not here:
        what = f"{first.unit} is in the records with other entries, from #{differs or 1} on"
        hint = "compare both with the certificate: traveler records verify SERIAL --head … --count …"
        return [Finding("BAG009", what, Place(unit=first.unit, entry=differs), hint=hint)]
    if len(here) > len(content.rows):
        what = (
            f"the records of {first.unit} go on after the bag: {len(here)} entries, {len(content.rows)} in it"
        )
        return [Finding("BAG010", what, Place(str(path)), Weight.NOTE)]
    return []
