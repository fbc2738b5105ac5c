"""The photographs and documents of a unit: listed with what they are, and taken out again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from traveler.finding import Finding
from traveler.jobs.attach import file_name
from traveler.jobs.cannot import CannotDo
from traveler.jobs.office import Office
from traveler.jobs.units import known_unit
from traveler.jobs.whole_file import write_whole
from traveler.record.attachment_audit import audit_files, named_files
from traveler.record.attachments import Attachment
from traveler.record.entry import Entry, Noted, Photographed
from traveler.record.media import PictureFacts, picture_facts
from traveler.trace.history import struck_by


@dataclass(frozen=True, slots=True)
class Listed:
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


def attachments_of(office: Office, serial: str) -> tuple[Listed, ...]:
    """The files that the unit's entries name, in the order of the entries, each read and checked.

    Findings in ``wrong``: ATT004 missing, ATT005 changed.

    Raises:
        CannotDo: no unit of this serial was issued here.
    """
    with office.store.reading() as records:
        known_unit(records, serial)
        entries = records.entries(serial)
        known = {digest: records.attachment(digest) for digest in named_files(entries)}
    struck = struck_by(entries)
    files = [
        (entry, _as_given(entry, attachment))
        for digest, entry in named_files(entries).items()
        if (attachment := known[digest]) is not None
    ]
    checked = dict(audit_files(office.store, [attachment for _, attachment in files]))
    return tuple(
        Listed(
            entry, one, entry.seq in struck,
            None if checked[one] else _facts(office, one), checked[one],
        )
        for entry, one in files
    )  # fmt: skip


def _as_given(entry: Entry, attachment: Attachment) -> Attachment:
    """With the name it came with here; the records know the bytes by the name they came with first."""
    name = entry.body.name if isinstance(entry.body, Photographed | Noted) else None
    return replace(attachment, name=name or attachment.name)


def take_out(office: Office, serial: str, folder: Path) -> tuple[Listed, ...]:
    """Writes the unit's files into a folder as they were given; the lost and the changed are not written.

    Raises:
        CannotDo: as :func:`attachments_of`; another file of one of the names is there.
        OSError: the folder cannot be written to.
    """
    found = attachments_of(office, serial)
    wanted = {one.attachment.digest: folder / file_name(one.entry.seq, one.attachment) for one in found}
    for path in wanted.values():
        if path.exists() and not path.is_file():
            what = f"{path} is in the way"
            raise CannotDo(what, "name another folder")
    return tuple(_taken(office, found, wanted))


def _taken(office: Office, found: tuple[Listed, ...], wanted: dict[str, Path]) -> Iterator[Listed]:
    for one in found:
        path = wanted[one.attachment.digest]
        if one.wrong is not None:
            yield one
            continue
        content = office.store.attachments.get(one.attachment.digest)
        if path.exists() and path.read_bytes() != content:
            what = f"there is another file {path} already"
            raise CannotDo(what, "name another folder")
        write_whole(path, content)
        yield replace(one, file=path)


def _facts(office: Office, attachment: Attachment) -> PictureFacts | None:
    if not attachment.media_type.startswith("image/"):
        return None
    facts = picture_facts(office.store.attachments.get(attachment.digest), attachment.media_type)
    return facts if isinstance(facts, PictureFacts) else None
