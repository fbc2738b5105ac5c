"""Pictures in steps: looked up, checked, turned upright, and set into the page at a limited size."""

from __future__ import annotations

from dataclasses import dataclass, field
from io import BytesIO
from xml.etree import ElementTree as ET

from traveler.finding import Finding, Place, Weight
from traveler.sheets.sheet import PictureReader, no_pictures

MOST_BYTES = 12_000_000
MOST_PIXELS = 50_000_000
LONGEST_SIDE = 1400
"""Pixels: 85 mm at more than 400 dpi. More only makes files large."""
RASTER = {b"\x89PNG\r\n\x1a\n": "PNG", b"\xff\xd8\xff": "JPEG"}
SCHEME = "picture:"
ENDINGS = ("svg", "png", "jpg")


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture of a step: its address inside the page, and words for who cannot see it.

    Without an address it could not be used; the page then says so in its place.
    """

    source: str
    words: str


@dataclass(slots=True)
class Album:
    """The pictures of one sheet, by name: content and media type. Unusable ones become findings."""

    reader: PictureReader = no_pictures
    kept: dict[str, tuple[bytes, str]] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def picture(self, name: str, step: str) -> Picture:
        """The picture of this name for a step."""
        if name in self.kept:
            return Picture(SCHEME + name, name)
        content = self.reader(name)
        made = "is not there" if content is None else usable(content)
        if isinstance(made, str):
            self.findings.append(unusable(name, made, step))
            return Picture("", name)
        self.kept[name] = made
        return Picture(SCHEME + name, name)

    def portrait(self, product: str, words: str) -> Picture | None:
        """The picture of the whole product for the cover: the one named after it, if there is one."""
        for name in (f"{product}.{ending}" for ending in ENDINGS):
            content = self.reader(name)
            if content is not None and not isinstance(made := usable(content), str):
                self.kept[name] = made
                return Picture(SCHEME + name, words)
        return None


def unusable(name: str, why: str, step: str) -> Finding:
    """The finding for a picture that cannot be printed; the sheet is printed without it."""
    return Finding(
        "SHT002",
        f"picture {name} {why}",
        Place(slot=step),
        Weight.WARNING,
        why="the step is printed without it",
        hint="put an SVG, PNG or JPEG file of this name beside the definition",
    )


def usable(content: bytes) -> tuple[bytes, str] | str:
    """The picture as it goes into the page, with its media type; or why it cannot be used."""
    if len(content) > MOST_BYTES:
        return f"has {len(content):,} bytes, at most {MOST_BYTES:,} are taken"
    kind = next((kind for start, kind in RASTER.items() if content.startswith(start)), None)
    if kind is not None:
        return _raster(content, kind)
    if b"<svg" in content[:5000]:
        return _drawing(content)
    return "is neither SVG nor PNG nor JPEG"


def _drawing(content: bytes) -> tuple[bytes, str] | str:
    if b"<!ENTITY" in content:
        return "is damaged: it defines entities"
    try:
        ET.fromstring(content)  # noqa: S314 - entities are refused above
    except ET.ParseError as problem:
        return f"is damaged: {problem}"
    return content, "image/svg+xml"


def _raster(content: bytes, kind: str) -> tuple[bytes, str] | str:
    """Turned as the camera says, not larger than needed, without profiles and remarks."""
    from PIL import Image, ImageOps

    try:
        with Image.open(BytesIO(content), formats=[kind]) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                return f"has {opened.width} × {opened.height} pixels, at most {MOST_PIXELS:,} are taken"
            image = ImageOps.exif_transpose(opened)
            flat = image.convert("RGBA" if image.has_transparency_data else "RGB")
    except (OSError, ValueError, SyntaxError) as problem:
        return f"is damaged: {problem}"
    flat.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    flat.info.clear()
    out = BytesIO()
    if kind == "JPEG":
        flat.save(out, "JPEG", quality=85, optimize=True)
    else:
        flat.save(out, "PNG", optimize=True)
    return out.getvalue(), f"image/{kind.lower()}"
