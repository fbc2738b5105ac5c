"""Pictures of a definition: where they lie, and those kept with the records at the first issue."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from functools import partial
from pathlib import Path

from traveler.definition.expand import expand
from traveler.definition.model import Definition
from traveler.finding import Finding, Weight
from traveler.record.attachments import Attachment, examined
from traveler.record.entry import Issued, KeptPicture
from traveler.record.errors import StoreDamaged
from traveler.record.records import Records
from traveler.record.store import Transaction
from traveler.sheets.pictures import MOST_BYTES, PICTURE_ENDINGS, usable
from traveler.sheets.sheet import PictureReader
from traveler.shop.folder import Shop
from traveler.shop.session import Session


def read_picture(shop: Shop, name: str) -> bytes | None:
    """The content of a picture of a step: it lies beside the definitions, or in ``pictures/`` there.

    Of a file that is too large only so much is read that it is still refused as such.
    """
    path = picture(shop.product_defs, name)
    if path is None:
        return None
    with path.open("rb") as file:
        return file.read(MOST_BYTES + 1)


def picture(folder: Path, name: str) -> Path | None:
    """Where the picture of this name lies; a name that leads out of the folder is none."""
    if "\x00" in name or len(Path(name).parts) != 1 or name in (".", ".."):
        return None
    places = (folder / name, folder / "pictures" / name)
    return next((path for path in places if path.is_file()), None)


def picture_reader(session: Session, digest: str) -> PictureReader:
    """Gives the pictures of the definition of this digest as they were at its first issue.

    Before the first issue, and for units issued before pictures were kept, those that lie in the folder now.
    """
    with session.store.reading() as records:
        kept = {kept_picture.name: kept_picture.file for kept_picture in kept_pictures(records, digest)}
    return partial(_read_kept, session, kept) if kept else partial(read_picture, session.shop)


def _read_kept(session: Session, kept: Mapping[str, str], name: str) -> bytes | None:
    """The picture, or None: the sheet then says that it is missing. Never another one in its place."""
    if name not in kept:
        return None
    try:
        return session.store.attachments.get(kept[name])
    except StoreDamaged:
        return None


def kept_pictures(records: Records, digest: str) -> tuple[KeptPicture, ...]:
    """The pictures that every unit of this definition was issued with; empty where there is no unit yet."""
    units = records.units(digest=digest, limit=1)
    issues = records.entries_of_kinds([unit.serial for unit in units], ["issued"])
    return next((issue.body.pictures for issue in issues if isinstance(issue.body, Issued)), ())


def keep_pictures(
    session: Session, work: Transaction, definition: Definition, digest: str
) -> tuple[tuple[KeptPicture, ...], tuple[Finding, ...]]:
    """The pictures that units issued now get: those of the first issue, else those in the folder, kept now.

    Finding ISS004 (warning): a picture was changed since the first issue. What cannot be printed is not kept.

    Raises:
        StoreError: the attachments cannot be written.
    """
    if work.units(digest=digest, limit=1):
        kept = kept_pictures(work, digest)
        return kept, tuple(_changed(session, kept, definition))
    made = []
    for name in picture_names(definition, digest):
        content = read_picture(session.shop, name)
        if content is None or isinstance(usable(content), str):
            continue
        known = examined(content, name)
        if isinstance(known, Attachment):
            work.keep_file(known, content, session.now)
            made.append(KeptPicture(name=name, file=known.digest))
    return tuple(made), ()


def picture_names(definition: Definition, digest: str) -> tuple[str, ...]:
    """The pictures that any variant with any option may show, that of the cover last, in a fixed order."""
    options = tuple(definition.options)
    plans = (expand(definition, variant, digest, options=options) for variant in definition.variants)
    steps = {step.picture for plan in plans for step in plan.steps() if step.picture}
    return (*sorted(steps), *(f"{definition.product}.{ending}" for ending in PICTURE_ENDINGS))


def _changed(session: Session, kept: tuple[KeptPicture, ...], definition: Definition) -> Iterator[Finding]:
    for kept_picture in kept:
        content = read_picture(session.shop, kept_picture.name)
        if content is not None and hashlib.sha256(content).hexdigest() != kept_picture.file:
            what = (
                f"picture {kept_picture.name} was changed since revision {definition.revision} was "
                f"first issued; "
                "sheets show it as it was then"
            )
            hint = "raise the revision, and say in 'change' what changed"
            yield Finding("ISS004", what, weight=Weight.WARNING, hint=hint)
