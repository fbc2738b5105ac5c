"""Photographs and documents of a unit: kept whole beside the records, named by an entry, taken out again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from traveler.definition.plan import SlotKind
from traveler.finding import Finding, Place, Weight, blocking
from traveler.jobs.add_entry import against, may_add
from traveler.jobs.judge import judge
from traveler.jobs.judged import Judged
from traveler.jobs.office import Office
from traveler.jobs.write import write
from traveler.record.attachments import Attachment, Rules, examined
from traveler.record.entry import Body, Entry, Noted, Photographed
from traveler.record.media import ENDINGS, named, picture_facts
from traveler.shop.settings import Settings
from traveler.verdict.counting import counting

PICTURES = frozenset(kind for kind in ENDINGS if kind.startswith("image/") and kind != "image/svg+xml")
"""The media types that are photographs; all else is a document."""

MEGABYTE = 1_000_000


@dataclass(frozen=True, slots=True)
class Given:
    """A file as it was given: its name, and its bytes."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Attached:
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

    files: tuple[Attached, ...]
    judged: Judged
    findings: tuple[Finding, ...]


def rules_of(settings: Settings) -> Rules:
    """What is kept in this shop."""
    return Rules(settings.attachment_megabytes * MEGABYTE, settings.attachment_types)


def attach(
    office: Office,
    serial: str,
    files: Sequence[Given],
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
    looked = [looked_at(one, rules_of(office.shop.settings)) for one in files]
    kept = [one for one in looked if isinstance(one, Attachment)]
    with office.store.transaction() as work:
        before = judge(office, work, serial)
        findings = [
            *(one for one in looked if isinstance(one, Finding)),
            *may_add(office, serial, "note", by, at),
            *_no_photographs(before, slot, kept),
        ]
        if not blocking(findings):
            asked = list({one.digest: one for one in reversed(kept)}.values())[::-1]
            there = {one.digest: _there(before, one.digest, slot) for one in asked}
            new = [one for one in asked if there[one.digest] is None]
            said = " ".join(what.split())
            drafts = [office.draft(serial, by, body_of(one, said), at=at, slot=slot) for one in new]
            entries = write(office, work, drafts, before.entries, before.plan)
            added = entries[len(before.entries) :]
            after = judge(office, work, serial) if added else before
            findings += against(after, added)
            if not blocking(findings):
                contents = {one.digest: given.content for one, given in zip(kept, files, strict=True)}
                for one in asked:  # the file first, so that no note is without it; a lost one comes back
                    office.store.attachments.put(contents[one.digest])
                    work.note_attachment(one, office.now)
                by_digest = there | {one.digest: entry for one, entry in zip(new, added, strict=True)}
                return Attaching(tuple(_attached(asked, by_digest, new)), after, tuple(findings))
        work.abandon()
        return Attaching((), before, tuple(findings))


def looked_at(given: Given, rules: Rules) -> Attachment | Finding:
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


def body_of(attachment: Attachment, what: str) -> Body:
    """The entry that names a file."""
    if attachment.media_type in PICTURES:
        return Photographed(file=attachment.digest, name=attachment.name, text=what or None)
    return Noted(text=what or attachment.name, file=attachment.digest, name=attachment.name)


def _no_photographs(judged: Judged, slot: str | None, kept: Sequence[Attachment]) -> Iterator[Finding]:
    found = judged.plan.by_slot.get(slot or "")
    if found is None or found.kind is not SlotKind.PHOTO:
        return
    for one in kept:
        if one.media_type not in PICTURES:
            what = f"{one.name} is no photograph, and {slot} asks for one"
            place = Place(unit=judged.unit.serial, slot=slot)
            hint = "attach it without --slot"
            yield Finding("ATT008", what, place, Weight.BLOCKING, "nothing would be seen on it", hint)


def _there(judged: Judged, digest: str, slot: str | None) -> Entry | None:
    """The entry that stands and names this file at this place already."""
    for entry in counting(judged.entries):
        body = entry.body
        if isinstance(body, Photographed | Noted) and body.file == digest and entry.slot == slot:
            return entry
    return None


def _attached(
    asked: Sequence[Attachment], entries: dict[str, Entry | None], new: Sequence[Attachment]
) -> Iterator[Attached]:
    for one in asked:
        entry = entries[one.digest]
        if entry is not None:
            yield Attached(one, entry, one in new)


def file_name(seq: int, attachment: Attachment) -> str:
    """The name a file is taken out under: the number of its entry, its own name, the ending of its kind.

    >>> file_name(7, Attachment("00", "a b/c.jpg", "application/pdf", 1))
    '0007-a_b_c.jpg.pdf'
    """
    plain = "".join(sign if sign.isalnum() or sign in "-_." else "_" for sign in attachment.name)
    return f"{seq:04}-{named(plain.strip('.')[-MOST:] or 'file', attachment.media_type)}"


MOST = 80
"""Characters of a name that are kept; every file system takes them."""
