"""Pictures in steps: looked up, checked, turned upright, and set into the page at a limited size."""

from __future__ import annotations

from dataclasses import dataclass, field

from traveler.finding import Finding, Place, Weight
from traveler.sheets import fonts
from traveler.sheets.drawing import drawn_texts, usable_drawing
from traveler.sheets.photograph import RASTER, usable_photograph
from traveler.sheets.resources import templates
from traveler.sheets.sheet import PictureReader, no_pictures

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
    """The picture as it goes into the page, with its media type; or why it cannot be used.

    The rules are those of :mod:`traveler.sheets.photograph` and :mod:`traveler.sheets.drawing`; texts in a
    drawing must be in the shipped fonts.
    """
    if content.startswith(tuple(RASTER)):
        return usable_photograph(content)
    if b"<svg" not in content[:5000]:
        return "is neither SVG nor PNG nor JPEG"
    made = usable_drawing(content)
    if isinstance(made, str):
        return made
    lacking = fonts.missing((drawn_texts(made[0]),), templates())
    return f"is written with {', '.join(lacking)}, which the shop's fonts lack" if lacking else made
