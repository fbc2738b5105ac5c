"""Photographs and documents of a unit: attached, listed, taken out again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from traveler.definition.plan import SlotKind
from traveler.finding import Finding, Place, Weight
from traveler.jobs.append import Proposal, append
from traveler.jobs.sign import allowed
from traveler.record.attachments import (
    ENDINGS,
    Attachment,
    Rules,
    examined,
)
from traveler.record.entry import Body, Entry, Noted, Photographed
from traveler.record.store import Transaction
from traveler.result import Result
from traveler.shop.session import Session
from traveler.shop.settings import Settings
from traveler.verdict.judge import Judged

PICTURES = frozenset(kind for kind in ENDINGS if kind.startswith("image/") and kind != "image/svg+xml")
"""The media types that are photographs; all else is a document."""

MEGABYTE = 1_000_000


@dataclass(frozen=True, slots=True)
class GivenFile:
    """A file as it was given: its name, and its bytes."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class AttachedFile(Result):
    """A file that is kept now, the entry that names it, and whether that entry is new."""

    json_keys: ClassVar[str] = "entry=entry.seq new kind=entry.body.kind slot=entry.slot *attachment"

    attachment: Attachment
    entry: Entry
    new: bool


@dataclass(frozen=True, slots=True)
class Attaching:
    """What became of the files (none is kept where a finding blocks), and the unit with them."""

    files: tuple[AttachedFile, ...]
    judged: Judged
    findings: tuple[Finding, ...]


def rules_of(settings: Settings) -> Rules:
    """What is kept in this shop."""
    return Rules(settings.attachment_megabytes * MEGABYTE, settings.attachment_types)


def attach(
    session: Session,
    serial: str,
    files: Sequence[GivenFile],
    by: str,
    *,
    slot: str | None = None,
    what: str = "",
    at: datetime | None = None,
) -> Attaching:
    """Keeps files and appends an entry for each: photographs as ``photographed``, documents as ``noted``.

    All of them or none. A file that the unit has already at that place is not entered again; the bytes of
    equal files are kept once. Findings: ATT001 to ATT003 of files; ATT008 a photo slot takes photographs;
    ENT001 no such slot; GAT002, PER001 to PER004 who may not; SEQ004, SEQ005 dated wrongly.

    Raises:
        CannotDo: no unit of this serial was issued here.
        StoreError: the disk is full, or the records cannot be written; nothing is kept then.
    """
    given, damaged = examined_files(session, files)
    attachments = [attachment for attachment, _ in given]

    def propose(before: Judged, _: Transaction) -> Proposal:
        findings = (
            *damaged,
            *allowed(session, "note", by, at=at, serial=serial),
            *_no_photographs(before, slot, attachments),
        )
        new = [attachment for attachment in attachments if _naming(before, attachment, slot) is None]
        said = " ".join(what.split())
        drafts = [session.draft(serial, by, entry_of_file(file, said), at=at, slot=slot) for file in new]
        return Proposal(drafts, findings, given)  # all files: one that was lost comes back

    done = append(session, serial, propose)
    named = [(file, _naming(done.judged, file, slot)) for file in attachments if done.taken]
    kept = [AttachedFile(file, entry, entry in done.entries) for file, entry in named if entry is not None]
    return Attaching(tuple(kept), done.judged, done.findings)


def examined_files(
    session: Session, files: Sequence[GivenFile]
) -> tuple[list[tuple[Attachment, bytes]], list[Finding]]:
    """The files as attachments with their bytes, equal ones once; and what is wrong with the others.

    Findings: ATT001 to ATT003 (:func:`traveler.record.attachments.examined`).
    """
    kept: dict[str, tuple[Attachment, bytes]] = {}
    wrong: list[Finding] = []
    rules = rules_of(session.shop.settings)
    for file in files:
        found = examined(file.content, file.name, rules)
        if isinstance(found, Finding):
            wrong.append(found)
        else:
            kept.setdefault(found.digest, (found, file.content))
    return list(kept.values()), wrong


def entry_of_file(attachment: Attachment, what: str) -> Body:
    """The entry that names a file."""
    if attachment.media_type in PICTURES:
        return Photographed(file=attachment.digest, name=attachment.name, text=what or None)
    return Noted(text=what or attachment.name, file=attachment.digest, name=attachment.name)


def _no_photographs(judged: Judged, slot: str | None, kept: Sequence[Attachment]) -> Iterator[Finding]:
    found = judged.plan.by_slot.get(slot or "")
    if found is None or found.kind is not SlotKind.PHOTO:
        return
    for attachment in kept:
        if attachment.media_type not in PICTURES:
            what = f"{attachment.name} is not a photograph, and {slot} asks for one"
            place = Place(unit=judged.unit.serial, slot=slot)
            hint = "attach it without --slot"
            yield Finding("ATT008", what, place, Weight.BLOCKING, hint=hint)


def _naming(judged: Judged, attachment: Attachment, slot: str | None) -> Entry | None:
    """The entry that stands and names this file at this place."""
    for entry in judged.case.standing:
        body = entry.body
        if isinstance(body, Photographed | Noted) and body.file == attachment.digest and entry.slot == slot:
            return entry
    return None
