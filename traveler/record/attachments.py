"""Photographs and documents kept with the records: files named by their SHA-256."""

from __future__ import annotations

import hashlib
import warnings
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Literal

from traveler.files import write_whole
from traveler.finding import Finding, Place
from traveler.record.errors import StoreDamaged, StoreUnreachable, disk_errors

JPEG, PNG, PDF = "image/jpeg", "image/png", "application/pdf"
TEXT, CSV = "text/plain", "text/csv"

CALLED = {
    JPEG: "JPEG", PNG: "PNG", PDF: "PDF", TEXT: "plain text", CSV: "CSV", "image/webp": "WebP",
    "image/gif": "GIF", "image/tiff": "TIFF", "image/heic": "HEIC", "image/avif": "AVIF",
    "image/svg+xml": "SVG", "application/zip": "ZIP",
}  # fmt: skip
"""Media type → what people call it."""

ENDINGS = {
    JPEG: (".jpg", ".jpeg"), PNG: (".png",), PDF: (".pdf",), TEXT: (".txt", ".md", ".log"),
    CSV: (".csv", ".tsv"), "image/webp": (".webp",), "image/gif": (".gif",), "image/tiff": (".tif", ".tiff"),
    "image/heic": (".heic", ".heif"), "image/avif": (".avif",), "image/svg+xml": (".svg",),
    "application/zip": (".zip", ".docx", ".xlsx", ".odt", ".ods"),
}  # fmt: skip
"""Media type → how names of such files end, the usual one first."""

_STARTS = (
    (b"\xff\xd8\xff", JPEG), (b"\x89PNG\r\n\x1a\n", PNG), (b"%PDF-", PDF), (b"GIF87a", "image/gif"),
    (b"GIF89a", "image/gif"), (b"II*\x00", "image/tiff"), (b"MM\x00*", "image/tiff"),
    (b"PK\x03\x04", "application/zip"),
)  # fmt: skip
_BRANDS = {
    **dict.fromkeys((b"heic", b"heix", b"heim", b"heis", b"mif1", b"msf1", b"hevc"), "image/heic"),
    **dict.fromkeys((b"avif", b"avis"), "image/avif"),
}
_DECODED = {JPEG: "JPEG", PNG: "PNG", "image/webp": "WEBP", "image/gif": "GIF", "image/tiff": "TIFF"}
MOST_PIXELS = 200_000_000
"""A picture of more is not a photograph of a crate, and would fill the memory."""

_ORIENTATION, _TURNED = 0x0112, {3: 180, 4: 180, 5: 90, 6: 90, 7: 270, 8: 270}
_SIDEWAYS = frozenset({5, 6, 7, 8})


def media_type(content: bytes, name: str = "") -> str | None:
    """The media type of the bytes; None where they are of no kind known here.

    >>> media_type(b"%PDF-1.7 ...", "photo.jpg")
    'application/pdf'
    """
    found = next((kind for start, kind in _STARTS if content.startswith(start)), None)
    if found is not None:
        return found
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return "image/webp"
    if content[4:8] == b"ftyp":
        return _BRANDS.get(content[8:12])
    if not is_text(content):
        return None
    if b"<svg" in content[:5000] and content.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
        return "image/svg+xml"
    return CSV if name.lower().endswith(ENDINGS[CSV]) else TEXT


def is_text(content: bytes) -> bool:
    """Whether it is UTF-8 without control characters that no text has."""
    try:
        text = content.decode()
    except UnicodeDecodeError:
        return False
    return not any(sign < " " and sign not in "\t\n\r\f" for sign in text)


def named(name: str, media: str) -> str:
    """The name with the ending of its kind, added where it has another.

    >>> named("photo.jpg", "application/pdf")
    'photo.jpg.pdf'
    """
    endings = ENDINGS.get(media, ())
    return name if not endings or name.lower().endswith(endings) else f"{name}{endings[0]}"


@dataclass(frozen=True, slots=True)
class PictureFacts:
    """A picture as it is looked at: its size in pixels upright, how far a viewer turns it, when it was taken.

    ``turned`` is in degrees clockwise, as the camera noted (EXIF, tag 274); ``taken`` is the camera's clock
    (tag 36867), as it wrote it.
    """

    width: int
    height: int
    turned: int = 0
    taken: str | None = None


@contextmanager
def read_strictly() -> Iterator[None]:
    """Pictures are read whole or not at all meanwhile, without remarks on the screen.

    The page engine, once it is loaded, tells the picture library to fill up with gray what is missing of a
    picture: whether one is damaged would depend on what else the program did before.
    """
    from PIL import ImageFile

    lenient = ImageFile.LOAD_TRUNCATED_IMAGES
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of sizes: the callers look at them; of cameras' odd notes
            yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = lenient


def picture_facts(content: bytes, media: str) -> PictureFacts | str | None:
    """What a picture is; why it cannot be seen; None for no picture, or one of a kind not decoded here."""
    kind = _DECODED.get(media)
    if kind is None:
        return None
    from PIL import Image

    try:
        with read_strictly(), Image.open(BytesIO(content), formats=[kind]) as opened:
            width, height = opened.size
            if width * height > MOST_PIXELS:
                return f"has {width} × {height} pixels, at most {MOST_PIXELS:,} are kept"
            notes = opened.getexif()
            way = int(notes.get(_ORIENTATION, 1) or 1)
            taken = notes.get_ifd(0x8769).get(0x9003) or notes.get(0x0132)
            opened.load()
    except (OSError, ValueError, SyntaxError, TypeError, KeyError, Image.DecompressionBombError) as problem:
        return f"is damaged: {problem}"
    size = (height, width) if way in _SIDEWAYS else (width, height)
    return PictureFacts(*size, _TURNED.get(way, 0), str(taken).strip("\x00 ") if taken else None)


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
    damaged: bool = False
    """Whether pictures are kept that nobody can see."""


EVERY = Rules(1_000_000_000, tuple(CALLED), damaged=True)
"""For what was kept before, by whatever rules held then: every type that is known."""


def examined(content: bytes, name: str, rules: Rules | None = None) -> Attachment | Finding:
    """The file as an attachment, its type told from its bytes and not from its name.

    Findings: ATT001 empty or too large, ATT002 of a type that is not kept, ATT003 a damaged picture.
    """
    rules = rules or Rules()
    if not 0 < len(content) <= rules.largest:
        what = f"the file has {len(content):,} bytes; 1 to {rules.largest:,} are kept"
        return Finding("ATT001", what, Place(name), hint="make the picture smaller")
    kind = media_type(content, name)
    if kind is None or kind not in rules.types:
        kept = " or ".join(_called(rules.types))
        found = f"this is {CALLED.get(kind, kind)}" if kind else "the kind of this file is unknown"
        return Finding("ATT002", f"{found}, and {kept} is kept", Place(name), hint="save it as one of these")
    facts = None if rules.damaged else picture_facts(content, kind)
    if isinstance(facts, str):
        return Finding("ATT003", f"the picture {facts}", Place(name), hint="send it again from the camera")
    return Attachment(hashlib.sha256(content).hexdigest(), Path(name).name[:200], kind, len(content))


def _called(types: Iterable[str]) -> list[str]:
    return [CALLED.get(kind, kind) for kind in types]


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
        hint = "free some space, or check the folder"
        with disk_errors(f"the attachment cannot be kept in {self.folder}", hint):
            write_whole(target, content)
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
        for path in sorted(self.folder.glob("[0-9a-f][0-9a-f]/*")):
            if len(path.name) == DIGITS and path.name.startswith(path.parent.name):
                yield path.name

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


def attachment_folder(folder: Path | None) -> AttachmentFolder:
    """Where photographs and documents are kept.

    Raises:
        StoreUnreachable: it was not said where, and there is no database file to put them beside.
    """
    if folder is None:
        what = "there is no folder for attachments"
        raise StoreUnreachable(what, "name one when opening a store that is not a file")
    return AttachmentFolder(folder)
