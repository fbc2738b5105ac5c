"""Photographs and documents of a unit: attached, listed, taken out again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from traveler.definition.plan import SlotKind
from traveler.files import safe_name, write_whole
from traveler.finding import CannotDo, Finding, Place, Weight, blocking
from traveler.jobs.append import against, append_drafts, may_add
from traveler.record.attachments import (
    ENDINGS,
    Attachment,
    PictureFacts,
    Rules,
    examined,
    named,
    picture_facts,
)
from traveler.record.audit import audit_files, named_files
from traveler.record.entry import Body, Entry, Noted, Photographed, standing_entries, struck_by
from traveler.record.plans import known_unit
from traveler.shop.session import Session
from traveler.shop.settings import Settings
from traveler.trace.judging import judge
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
class AttachedFile:
    """A file that is kept now, the entry that names it, and whether that entry is new."""

    attachment: Attachment
    entry: Entry
    new: bool

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        kept = self.attachment
        return {
            "entry": self.entry.seq, "new": self.new, "kind": self.entry.body.kind, "slot": self.entry.slot,
            "name": kept.name, "media_type": kept.media_type, "size": kept.size, "digest": kept.digest,
        }  # fmt: skip


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
        StoreTrouble: the disk is full, or the records cannot be written; nothing is kept then.
    """
    looked = [looked_at(file, rules_of(session.shop.settings)) for file in files]
    kept = [item for item in looked if isinstance(item, Attachment)]
    with session.store.transaction() as work:
        before = judge(session, work, serial)
        findings = [
            *(item for item in looked if isinstance(item, Finding)),
            *may_add(session, serial, "note", by, at),
            *_no_photographs(before, slot, kept),
        ]
        if not blocking(findings):
            asked = list({attachment.digest: attachment for attachment in reversed(kept)}.values())[::-1]
            there = {code.digest: _there(before, code.digest, slot) for code in asked}
            new = [code for code in asked if there[code.digest] is None]
            said = " ".join(what.split())
            drafts = [session.draft(serial, by, entry_of_file(item, said), at=at, slot=slot) for item in new]
            entries = append_drafts(session, work, drafts, before.entries, before.plan)
            added = entries[len(before.entries) :]
            after = judge(session, work, serial) if added else before
            findings += against(after, added)
            if not blocking(findings):
                contents = {
                    attachment.digest: given.content for attachment, given in zip(kept, files, strict=True)
                }
                for code in asked:  # the file first, so that no note is without it; a lost one comes back
                    session.store.attachments.put(contents[code.digest])
                    work.note_attachment(code, session.now)
                by_digest = there | {
                    attachment.digest: entry for attachment, entry in zip(new, added, strict=True)
                }
                return Attaching(tuple(_attached(asked, by_digest, new)), after, tuple(findings))
        work.abandon()
        return Attaching((), before, tuple(findings))


def looked_at(given: GivenFile, rules: Rules) -> Attachment | Finding:
    """The file as an attachment; a picture that cannot be seen is refused.

    Findings: ATT001, ATT002 (:func:`traveler.record.attachments.examined`), ATT003 a damaged picture.
    """
    found = examined(given.content, given.name, rules)
    if isinstance(found, Finding):
        return found
    facts = picture_facts(given.content, found.media_type)
    if isinstance(facts, str):
        why = "a picture that nobody can see shows nothing"
        hint = "send it again from the camera"
        return Finding("ATT003", f"the picture {facts}", Place(given.name), Weight.BLOCKING, why, hint)
    return found


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
            what = f"{attachment.name} is no photograph, and {slot} asks for one"
            place = Place(unit=judged.unit.serial, slot=slot)
            hint = "attach it without --slot"
            yield Finding("ATT008", what, place, Weight.BLOCKING, "nothing would be seen on it", hint)


def _there(judged: Judged, digest: str, slot: str | None) -> Entry | None:
    """The entry that stands and names this file at this place already."""
    for entry in standing_entries(judged.entries):
        body = entry.body
        if isinstance(body, Photographed | Noted) and body.file == digest and entry.slot == slot:
            return entry
    return None


def _attached(
    asked: Sequence[Attachment], entries: dict[str, Entry | None], new: Sequence[Attachment]
) -> Iterator[AttachedFile]:
    for code in asked:
        entry = entries[code.digest]
        if entry is not None:
            yield AttachedFile(code, entry, code in new)


def name_taken_out(seq: int, attachment: Attachment) -> str:
    """The name a file is taken out under: the number of its entry, its own name, the ending of its kind.

    >>> file_name(7, Attachment("00", "a b/c.jpg", "application/pdf", 1))
    '0007-a_b_c.jpg.pdf'
    """
    return f"{seq:04}-{named(safe_name(attachment.name), attachment.media_type)}"


@dataclass(frozen=True, slots=True)
class ListedFile:
    """One file of a unit: the first entry that names it, what is known of it, and what is wrong with it.

    ``struck``: the entry was struck out. ``facts``: of a picture that is there. ``file``: where it was taken.
    """

    entry: Entry
    attachment: Attachment
    struck: bool
    facts: PictureFacts | None = None
    wrong: Finding | None = None
    file: Path | None = None

    @property
    def said(self) -> str:
        """What was said about it."""
        body = self.entry.body
        return (body.text or "") if isinstance(body, Photographed | Noted) else ""

    def as_dict(self) -> dict[str, object]:
        """For ``--json``; sizes in bytes and pixels (upright), turned in degrees clockwise."""
        kept, facts = self.attachment, self.facts
        return {
            "entry": self.entry.seq, "kind": self.entry.body.kind, "slot": self.entry.slot,
            "by": self.entry.by, "at": self.entry.at.isoformat(), "struck": self.struck, "text": self.said,
            "name": kept.name, "media_type": kept.media_type, "size": kept.size, "digest": kept.digest,
            "width": facts.width if facts else None, "height": facts.height if facts else None,
            "turned": facts.turned if facts else None, "taken": facts.taken if facts else None,
            "whole": self.wrong is None, "file": str(self.file) if self.file else None,
        }  # fmt: skip


def attachments_of(session: Session, serial: str) -> tuple[ListedFile, ...]:
    """The files that the unit's entries name, in the order of the entries, each read and checked.

    Findings in ``wrong``: ATT004 missing, ATT005 changed.

    Raises:
        CannotDo: no unit of this serial was issued here.
    """
    with session.store.reading() as records:
        known_unit(records, serial)
        entries = records.entries(serial)
        known = {digest: records.attachment(digest) for digest in named_files(entries)}
    struck = struck_by(entries)
    files = [
        (entry, _as_given(entry, attachment))
        for digest, entry in named_files(entries).items()
        if (attachment := known[digest]) is not None
    ]
    checked = dict(audit_files(session.store, [attachment for _, attachment in files]))
    return tuple(
        ListedFile(
            entry, attachment, entry.seq in struck,
            None if checked[attachment] else _facts(session, attachment), checked[attachment],
        )
        for entry, attachment in files
    )  # fmt: skip


def _as_given(entry: Entry, attachment: Attachment) -> Attachment:
    """With the name it came with here; the records know the bytes by the name they came with first."""
    name = entry.body.name if isinstance(entry.body, Photographed | Noted) else None
    return replace(attachment, name=name or attachment.name)


def take_out(session: Session, serial: str, folder: Path) -> tuple[ListedFile, ...]:
    """Writes the unit's files into a folder as they were given; the lost and the changed are not written.

    Raises:
        CannotDo: as :func:`attachments_of`; another file of one of the names is there.
        OSError: the folder cannot be written to.
    """
    found = attachments_of(session, serial)
    wanted = {
        attachment.attachment.digest: folder / name_taken_out(attachment.entry.seq, attachment.attachment)
        for attachment in found
    }
    for path in wanted.values():
        if path.exists() and not path.is_file():
            what = f"{path} is in the way"
            raise CannotDo(what, "name another folder")
    return tuple(_taken(session, found, wanted))


def _taken(session: Session, found: tuple[ListedFile, ...], wanted: dict[str, Path]) -> Iterator[ListedFile]:
    for serial in found:
        path = wanted[serial.attachment.digest]
        if serial.wrong is not None:
            yield serial
            continue
        content = session.store.attachments.get(serial.attachment.digest)
        if path.exists() and path.read_bytes() != content:
            what = f"there is another file {path} already"
            raise CannotDo(what, "name another folder")
        write_whole(path, content)
        yield replace(serial, file=path)


def _facts(session: Session, attachment: Attachment) -> PictureFacts | None:
    if not attachment.media_type.startswith("image/"):
        return None
    facts = picture_facts(session.store.attachments.get(attachment.digest), attachment.media_type)
    return facts if isinstance(facts, PictureFacts) else None
