"""Photographs and documents kept with the records: files named by their SHA-256, beside the database."""

from __future__ import annotations

import errno
import hashlib
from dataclasses import dataclass
from pathlib import Path

from traveler.finding import Finding, Place
from traveler.record.on_disk import write_whole
from traveler.record.trouble import StoreDamaged, StoreFull, StoreUnreachable

LARGEST = 25_000_000
"""Bytes of one attachment."""

_TYPES = (
    (b"\xff\xd8\xff", "image/jpeg"), (b"\x89PNG\r\n\x1a\n", "image/png"), (b"%PDF-", "application/pdf"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Attachment:
    """What is known of a kept file: SHA-256, name it came with, media type, bytes."""

    digest: str
    name: str
    media_type: str
    size: int


def examined(content: bytes, name: str) -> Attachment | Finding:
    """The file as an attachment, its type told from its first bytes.

    Findings: ATT001 empty or too large, ATT002 not a JPEG, PNG, PDF or plain text in UTF-8.
    """
    if not 0 < len(content) <= LARGEST:
        what = f"the file has {len(content):,} bytes; 1 to {LARGEST:,} are kept"
        return Finding("ATT001", what, Place(name), hint="make the picture smaller")
    kind = next((kind for mark, kind in _TYPES if content.startswith(mark)), None)
    if kind is None and _is_text(content):
        kind = "text/plain"
    if kind is None:
        what = "this is no JPEG, PNG, PDF or plain text"
        return Finding("ATT002", what, Place(name), hint="save it as one of these")
    return Attachment(hashlib.sha256(content).hexdigest(), Path(name).name[:200], kind, len(content))


def _is_text(content: bytes) -> bool:
    try:
        return "\x00" not in content.decode()
    except UnicodeDecodeError:
        return False


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
        if target.exists():
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
