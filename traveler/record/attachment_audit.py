"""Whether every photograph and document is there as it was kept, and nothing refers to one that is not."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from traveler.finding import Finding, Place, Weight
from traveler.record.attachments import Attachment
from traveler.record.entry import Body, Complained, Entry, Issued, Noted, Photographed
from traveler.record.store import Store

_WHY = "a photograph that is gone or was changed shows nothing any more"
_HINT = "take it from a backup; attaching the same file again puts it back"


def named_files(entries: Iterable[Entry]) -> Mapping[str, Entry]:
    """SHA-256 of each file that an entry names → the first entry that names it.

    A photograph, a document, what came with a complaint, the pictures of the definition.
    """
    found: dict[str, Entry] = {}
    for entry in entries:
        for digest in _digests(entry.body):
            found.setdefault(digest, entry)
    return found


def _digests(body: Body) -> Iterator[str]:
    match body:
        case Photographed(file=str(file)) | Noted(file=str(file)):
            yield file
        case Complained(photos=photos):
            yield from photos
        case Issued(pictures=pictures):
            yield from (one.file for one in pictures)
        case _:
            pass


def audit_files(
    store: Store, attachments: Iterable[Attachment]
) -> Iterator[tuple[Attachment, Finding | None]]:
    """Each of these files with what is wrong with it: ATT004 missing, ATT005 changed; read in pieces."""
    for one in attachments:
        state = store.attachments.state(one.digest)
        if state == "whole":
            yield one, None
            continue
        path = store.attachments.path(one.digest)
        code, fate = ("ATT004", "is missing") if state == "missing" else ("ATT005", "was changed")
        what = f"the attachment {one.name} ({one.digest[:12]}) {fate}: {path}"
        yield one, Finding(code, what, Place(), why=_WHY, hint=_HINT)


def audit_names(entries: Iterable[Entry], known: Iterable[str]) -> Iterator[Finding]:
    """ATT006 for each file that an entry names and the records do not know."""
    noted = set(known)
    for digest, entry in named_files(entries).items():
        if digest not in noted:
            place = Place(unit=entry.unit, slot=entry.slot, entry=entry.seq)
            what = f"it names the attachment {digest[:12]}, which is not in the records"
            yield Finding("ATT006", what, place, why=_WHY, hint="restore a backup")


def audit_strays(store: Store, known: Iterable[str]) -> Iterator[Finding]:
    """ATT007 (note) where the folder has files that no record knows.

    They are left by a job that was interrupted between keeping a file and noting it; nothing needs them.
    """
    if not store.keeps_attachments:
        return
    folder, noted = store.attachments, set(known)
    strays = [one for one in folder.digests() if one not in noted]
    if strays:
        count = f"{len(strays)} file{'s' if len(strays) > 1 else ''}"
        what = f"{count} in {folder.folder} without a record, the first is {strays[0]}"
        yield Finding(
            "ATT007", what, Place(), Weight.NOTE, "a job was interrupted there", "nothing needs them"
        )
