"""Photographs and documents kept with the records: files named by their SHA-256, beside the database."""

from __future__ import annotations

import errno
import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from traveler.finding import Finding, Place
from traveler.record.media import CALLED, CSV, JPEG, PDF, PNG, TEXT, media_type
from traveler.record.on_disk import write_whole
from traveler.record.trouble import StoreDamaged, StoreFull, StoreUnreachable

LARGEST = 25_000_000
"""Bytes of one attachment, unless a shop says otherwise."""

DIGITS = 64
"""Hexadecimal digits of a SHA-256."""

KEPT = (JPEG, PNG, PDF, TEXT, CSV, "image/svg+xml")
"""The media types that are kept, unless a shop says otherwise."""


@dataclass(frozen=True, slots=True)
class Attachment:
    """What is known of a kept file: SHA-256, name it came with, media type, bytes."""

    digest: str
    name: str
    media_type: str
    size: int


@dataclass(frozen=True, slots=True)
class Rules:
    """What is kept: at most so many bytes, of these media types."""

    largest: int = LARGEST
    types: tuple[str, ...] = KEPT


EVERY = Rules(1_000_000_000, tuple(CALLED))
"""For what was kept before, by whatever rules held then: every type that is known."""


def examined(content: bytes, name: str, rules: Rules | None = None) -> Attachment | Finding:
    """The file as an attachment, its type told from its bytes and not from its name.

    Findings: ATT001 empty or too large, ATT002 of a type that is not kept.
    """
    rules = rules or Rules()
    if not 0 < len(content) <= rules.largest:
        what = f"the file has {len(content):,} bytes; 1 to {rules.largest:,} are kept"
        return Finding("ATT001", what, Place(name), hint="make the picture smaller")
    kind = media_type(content, name)
    if kind is None or kind not in rules.types:
        kept = " or ".join(_called(rules.types))
        found = f"this is {CALLED.get(kind, kind)}" if kind else "this is of no known kind"
        return Finding("ATT002", f"{found}, and {kept} is kept", Place(name), hint="save it as one of these")
    return Attachment(hashlib.sha256(content).hexdigest(), Path(name).name[:200], kind, len(content))


def _called(types: Iterable[str]) -> list[str]:
    return [CALLED.get(one, one) for one in types]


@dataclass(frozen=True, slots=True)
class AttachmentFolder:
    """Where the files lie; ``ab/abcdef…`` in two levels, so that no folder grows large."""

    folder: Path

    def path(self, digest: str) -> Path:
        """Where the file of this SHA-256 lies, or would."""
        return self.folder / digest[:2] / digest

    def put(self, content: bytes) -> str:
        """Keeps the bytes, whole or not at all, and gives their SHA-256; keeping them again changes nothing.

        Raises:
            StoreFull: the disk is full.
            StoreUnreachable: the folder cannot be written to.
        """
        digest = hashlib.sha256(content).hexdigest()
        target = self.path(digest)
        if self.state(digest) == "whole":
            return digest
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            write_whole(target, content)
        except OSError as problem:
            full = problem.errno == errno.ENOSPC
            what = f"the attachment cannot be kept in {self.folder}: {problem.strerror}"
            raise (StoreFull if full else StoreUnreachable)(
                what, "free some space, or check the folder"
            ) from problem
        return digest

    def state(self, digest: str) -> Literal["whole", "missing", "changed"]:
        """Whether the file is there as it was kept; read in pieces, whatever its size."""
        try:
            with self.path(digest).open("rb") as file:
                same = hashlib.file_digest(file, "sha256").hexdigest() == digest
        except OSError:
            return "missing"
        return "whole" if same else "changed"

    def digests(self) -> Iterator[str]:
        """The SHA-256 of every file that lies there, in order."""
        for one in sorted(self.folder.glob("[0-9a-f][0-9a-f]/*")):
            if len(one.name) == DIGITS and one.name.startswith(one.parent.name):
                yield one.name

    def get(self, digest: str) -> bytes:
        """The bytes of this SHA-256.

        Raises:
            StoreDamaged: they are not there, or are not what was kept.
        """
        path = self.path(digest)
        try:
            content = path.read_bytes()
        except OSError as problem:
            what = f"the attachment {digest[:12]} is not in {self.folder}"
            raise StoreDamaged(what, "restore the folder from a backup") from problem
        if hashlib.sha256(content).hexdigest() != digest:
            raise StoreDamaged(f"the attachment {path} was changed", "restore it from a backup")
        return content
