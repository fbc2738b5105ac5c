"""Pictures of a definition, kept with the records at the first issue: later prints show the very same."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from functools import partial

from traveler.definition.expand import expand
from traveler.definition.model import Definition
from traveler.finding import Finding, Weight
from traveler.jobs.office import Office
from traveler.jobs.products import read_picture
from traveler.record.attachments import Attachment, examined
from traveler.record.entry import Issued, KeptPicture
from traveler.record.records import Records
from traveler.record.transaction import Transaction
from traveler.record.trouble import StoreDamaged
from traveler.sheets.pictures import ENDINGS, usable
from traveler.sheets.sheet import PictureReader


def picture_reader(office: Office, digest: str) -> PictureReader:
    """Gives the pictures of the definition of this digest as they were at its first issue.

    Before the first issue, and for units issued before pictures were kept, those that lie in the folder now.
    """
    with office.store.reading() as records:
        kept = {one.name: one.file for one in kept_pictures(records, digest)}
    return partial(_read_kept, office, kept) if kept else partial(read_picture, office.shop)


def _read_kept(office: Office, kept: Mapping[str, str], name: str) -> bytes | None:
    """The picture, or None: the sheet then says that it is missing. Never another one in its place."""
    if name not in kept:
        return None
    try:
        return office.store.attachments.get(kept[name])
    except StoreDamaged:
        return None


def kept_pictures(records: Records, digest: str) -> tuple[KeptPicture, ...]:
    """The pictures that every unit of this definition was issued with; empty where there is no unit yet."""
    units = records.units(digest=digest, limit=1)
    issues = records.entries_of_kinds([one.serial for one in units], ["issued"])
    return next((one.body.pictures for one in issues if isinstance(one.body, Issued)), ())


def keep_pictures(
    office: Office, work: Transaction, definition: Definition, digest: str
) -> tuple[tuple[KeptPicture, ...], tuple[Finding, ...]]:
    """The pictures that units issued now get: those of the first issue, else those in the folder, kept now.

    Finding ISS004 (warning): a picture was changed since the first issue. What cannot be printed is not kept.

    Raises:
        StoreTrouble: the attachments cannot be written.
    """
    if work.units(digest=digest, limit=1):
        kept = kept_pictures(work, digest)
        return kept, tuple(_changed(office, kept, definition))
    made = []
    for name in picture_names(definition, digest):
        content = read_picture(office.shop, name)
        if content is None or isinstance(usable(content), str):
            continue
        known = examined(content, name)
        if isinstance(known, Attachment):
            office.store.attachments.put(content)
            work.note_attachment(known, office.now)
            made.append(KeptPicture(name=name, file=known.digest))
    return tuple(made), ()


def picture_names(definition: Definition, digest: str) -> tuple[str, ...]:
    """The pictures that any variant with any option may show, that of the cover last, in a fixed order."""
    options = tuple(definition.options)
    plans = (expand(definition, variant, digest, options=options) for variant in definition.variants)
    steps = {step.picture for plan in plans for step in plan.steps() if step.picture}
    return (*sorted(steps), *(f"{definition.product}.{ending}" for ending in ENDINGS))


def _changed(office: Office, kept: tuple[KeptPicture, ...], definition: Definition) -> Iterator[Finding]:
    for one in kept:
        content = read_picture(office.shop, one.name)
        if content is not None and hashlib.sha256(content).hexdigest() != one.file:
            what = (
                f"picture {one.name} was changed since revision {definition.revision} was first issued; "
                "sheets show it as it was then"
            )
            why = "units of one revision are built to one definition, pictures included"
            hint = "raise the revision, and say in 'change' what changed"
            yield Finding("ISS004", what, weight=Weight.WARNING, why=why, hint=hint)
