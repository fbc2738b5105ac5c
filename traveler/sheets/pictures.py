"""Pictures in steps: looked up, checked, and set into the page at a limited size."""

from __future__ import annotations

from dataclasses import dataclass, field

from traveler.finding import Finding, Place, Weight
from traveler.sheets.sheet import PictureReader, no_pictures

MOST_BYTES = 12_000_000
KINDS = {b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}
SCHEME = "picture:"


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture of a step.

    Its address inside the page (empty: it is missing), and words for who cannot see it.
    """

    source: str
    words: str


@dataclass(slots=True)
class Album:
    """The pictures of one sheet. Those that cannot be used become findings."""

    reader: PictureReader = no_pictures
    kept: dict[str, tuple[bytes, str]] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def picture(self, name: str, step: str, words: str = "") -> Picture:
        """The picture of this name; one that cannot be used is a finding and has no address."""
        if name not in self.kept:
            content = self.reader(name)
            problem = "is not there" if content is None else fault(content)
            if content is None or problem:
                self.findings.append(
                    Finding(
                        "SHT002",
                        f"picture {name} {problem}",
                        Place(slot=step),
                        Weight.WARNING,
                        why="the step is printed without it",
                        hint="put an SVG, PNG or JPEG file of this name beside the definition",
                    )
                )
                return Picture("", name)
            self.kept[name] = (content, kind(content) or "")
        return Picture(SCHEME + name, words or name)

    def portrait(self, product: str) -> Picture | None:
        """The picture of the whole product for the cover, if there is one.

        Named after it, SVG, PNG or JPEG.
        """
        for ending in ("svg", "png", "jpg"):
            name = f"{product}.{ending}"
            content = self.reader(name)
            if content is not None and not fault(content):
                self.kept[name] = (content, kind(content) or "")
                return Picture(SCHEME + name, product)
        return None


def kind(content: bytes) -> str | None:
    """The media type of a picture by its first bytes, or None."""
    for start, media in KINDS.items():
        if content.startswith(start):
            return media
    head = content[:1000].lstrip(b"\xef\xbb\xbf \t\r\n")
    return (
        "image/svg+xml" if head.startswith((b"<?xml", b"<svg", b"<!")) and b"<svg" in content[:5000] else None
    )


def fault(content: bytes) -> str:
    """Why a picture cannot be used, or an empty text."""
    media = kind(content)
    if media is None:
        return "is neither SVG nor PNG nor JPEG"
    if len(content) > MOST_BYTES:
        return f"has {len(content):,} bytes, at most {MOST_BYTES:,} are taken"
    return ""
