"""The fonts that are shipped: which characters they cover, and glyph numbers and widths for form fields.

Every character of a sheet must be in them. Another one would silently come from whatever the machine has.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO

from traveler.sheets.resources import Templates

SANS, SANS_BOLD, MONO_BOLD = "TravelerSans-Regular", "TravelerSans-Bold", "TravelerMono-Bold"
FIELD_FONT = MONO_BOLD
"""Form fields and serials are set in one face, which is embedded whole: a serial can be stamped in later."""
INVISIBLE = frozenset("\n\r\t\u200b\u00ad")


@dataclass(frozen=True, slots=True)
class Face:
    """One font file: character → glyph number, and advance widths in thousandths of the size."""

    glyphs: dict[str, int]
    widths: dict[str, int]

    def hexadecimal(self, text: str) -> str:
        """The text as two-byte glyph numbers in hexadecimal, as a PDF string of an Identity-H font."""
        return "".join(f"{self.glyphs[character]:04x}" for character in text)

    def width(self, text: str) -> int:
        """Width of the text in thousandths of the font size, without kerning."""
        return sum(self.widths[character] for character in text)


@lru_cache(maxsize=8)
def face(name: str, templates: Templates) -> Face:
    """The shipped font of this name."""
    from fontTools.ttLib import TTFont

    font = TTFont(BytesIO(templates.read(f"fonts/{name}.ttf")), lazy=True)
    scale = font["head"].unitsPerEm
    metrics = font["hmtx"].metrics
    best = font.getBestCmap()
    return Face(
        {chr(code): font.getGlyphID(glyph) for code, glyph in best.items()},
        {chr(code): round(metrics[glyph][0] * 1000 / scale) for code, glyph in best.items()},
    )


def missing(text: Iterable[str], templates: Templates) -> list[str]:
    """The characters of the text that the shipped faces lack, sorted."""
    covered = face(SANS, templates).glyphs.keys() & face(SANS_BOLD, templates).glyphs.keys()
    return sorted(set().union(*(set(part) for part in text)) - covered - INVISIBLE)
