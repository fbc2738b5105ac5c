"""What kind of file some bytes are, told from the bytes: a name says nothing about what is inside.

Signatures are those of the formats' own specifications: JPEG (ISO/IEC 10918-1), PNG, PDF (ISO 32000-1),
TIFF 6.0, GIF89a, the RIFF container of WebP, and the brands of ISO/IEC 14496-12 files (HEIC, AVIF). Text is
UTF-8; of texts only the name tells a table from prose.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO

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
"""A picture of more is no photograph of a crate, and would fill the memory."""

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

    The page engine, once it is loaded, tells the picture library to fill up with grey what is missing of a
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
