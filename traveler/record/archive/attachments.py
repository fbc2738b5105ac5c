"""The photographs and documents of a unit: listed with what they are, and taken out again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import ClassVar

from traveler.files import safe_name, write_whole
from traveler.finding import CannotDo, Finding
from traveler.record.attachments import Attachment, PictureFacts, named, picture_facts
from traveler.record.audit import audit_files, named_files
from traveler.record.entry import Entry, Noted, Photographed, standing_entries
from traveler.record.plans import known_unit
from traveler.record.store import Store
from traveler.result import Result


@dataclass(frozen=True, slots=True)
class ListedFile(Result):
    """One file of a unit: the first entry that names it, what is known of it, and what is wrong with it.

    ``struck``: the entry was struck out. ``facts``: of a picture that is there, in pixels upright and degrees
    clockwise. ``file``: where it was taken.
    """

    json_keys: ClassVar[str] = (
        "entry=entry.seq kind=entry.body.kind slot=entry.slot by=entry.by at=entry.at struck text=said "
        "name=attachment.name media_type=attachment.media_type size=attachment.size digest=attachment.digest "
        "width=facts.width height=facts.height turned=facts.turned taken=facts.taken whole file"
    )

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

    @property
    def whole(self) -> bool:
        """Whether it is there as it was given."""
        return self.wrong is None


def attachments_of(store: Store, serial: str) -> tuple[ListedFile, ...]:
    """The files that the unit's entries name, in the order of the entries, each read and checked.

    Findings in ``wrong``: ATT004 missing, ATT005 changed.

    Raises:
        CannotDo: no unit of this serial was issued here.
    """
    with store.reading() as records:
        known_unit(records, serial)
        entries = records.entries(serial)
        names = [(records.attachment(digest), entry) for digest, entry in named_files(entries).items()]
    files = [(attachment, entry) for attachment, entry in names if attachment is not None]
    checked = dict(audit_files(store, [attachment for attachment, _ in files]))
    standing = {entry.seq for entry in standing_entries(entries)}
    return tuple(
        _listed(store, entry, attachment, checked[attachment], struck=entry.seq not in standing)
        for attachment, entry in files
    )


def _listed(
    store: Store, entry: Entry, attachment: Attachment, wrong: Finding | None, *, struck: bool
) -> ListedFile:
    """The file under the name it came with here; the store knows its bytes by the first name they had."""
    name = entry.body.name if isinstance(entry.body, Photographed | Noted) else None
    facts = None
    if wrong is None and attachment.media_type.startswith("image/"):
        facts = picture_facts(store.attachments.get(attachment.digest), attachment.media_type)
    known = facts if isinstance(facts, PictureFacts) else None
    return ListedFile(entry, replace(attachment, name=name or attachment.name), struck, known, wrong)


def take_out(store: Store, serial: str, folder: Path) -> tuple[ListedFile, ...]:
    """Writes the unit's files into a folder as they were given; the lost and the changed are not written.

    Raises:
        CannotDo: as :func:`attachments_of`; another file of one of the names is there.
        OSError: the folder cannot be written to.
    """
    found = [(file, folder / name_taken_out(file)) for file in attachments_of(store, serial)]
    for _, path in found:
        if path.exists() and not path.is_file():
            what = f"{path} is in the way"
            raise CannotDo(what, "name another folder")
    return tuple(_taken(store, found))


def _taken(store: Store, found: list[tuple[ListedFile, Path]]) -> Iterator[ListedFile]:
    for file, path in found:
        if not file.whole:
            yield file
            continue
        content = store.attachments.get(file.attachment.digest)
        if path.exists() and path.read_bytes() != content:
            what = f"there is another file {path} already"
            raise CannotDo(what, "name another folder")
        write_whole(path, content)
        yield replace(file, file=path)


def name_taken_out(file: ListedFile) -> str:
    """The name a file is taken out under: the number of its entry, its own name, the ending of its kind.

    ``a b/c.jpg``, a PDF that entry 7 names, is ``0007-a_b_c.jpg.pdf``.
    """
    return f"{file.entry.seq:04}-{named(safe_name(file.attachment.name), file.attachment.media_type)}"
