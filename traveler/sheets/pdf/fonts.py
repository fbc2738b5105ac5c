"""The shipped fonts: what they cover, whether a text fits a space, and how they are embedded."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from typing import TYPE_CHECKING

from traveler.sheets.templates import Templates

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pikepdf import Object, Pdf

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
def font_face(name: str, templates: Templates) -> Face:
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
    covered = font_face(SANS, templates).glyphs.keys() & font_face(SANS_BOLD, templates).glyphs.keys()
    return sorted(set().union(*(set(part) for part in text)) - covered - INVISIBLE)


MM_PER_POINT = 25.4 / 72
CUT = "…"


@dataclass(frozen=True, slots=True)
class Space:
    """So many lines of a width in millimeters, set in one face at a size in points."""

    face: Face
    size: float
    width: float
    lines: int

    def fits(self, text: str) -> bool:
        """Whether the text fits, broken between words where it needs more than one line."""
        return self.needed(text) <= self.lines

    def needed(self, text: str) -> int:
        """How many lines the text takes; a word wider than a line is broken."""
        line, count = "", 1
        for word in text.split():
            longer = f"{line} {word}".strip()
            if self.wide(longer) <= self.width:
                line = longer
                continue
            count += 1 if line else 0
            line = word
            while self.wide(line) > self.width:
                line = line[self._breaks_at(line) :]
                count += 1
        return count

    def shortened(self, text: str) -> str:
        """The text, or as much of it as fits with an ellipsis."""
        if self.fits(text):
            return text
        kept = text
        while kept and not self.fits(kept.rstrip() + CUT):
            kept = kept[:-1]
        return kept.rstrip() + CUT

    def wide(self, text: str) -> float:
        """Width of the text on one line, in millimeters."""
        known = (self.face.widths.get(character, 1000) for character in text)
        return sum(known) / 1000 * self.size * MM_PER_POINT

    def _breaks_at(self, word: str) -> int:
        return next((end for end in range(len(word), 1, -1) if self.wide(word[:end]) <= self.width), 1)


FIELD_FONT_NAME = "TravelerMono"
FIRST, LAST = 32, 255
FIXED_PITCH, NONSYMBOLIC = 1, 32


def field_font(pdf: Pdf, templates: Templates) -> Object:
    """The font as an object of this PDF."""
    from pikepdf import Array, Dictionary, Name

    face = font_face(FIELD_FONT, templates)
    advance = face.widths["0"]
    descriptor = Dictionary(
        Type=Name.FontDescriptor, FontName=Name(f"/{FIELD_FONT}"), Flags=FIXED_PITCH | NONSYMBOLIC,
        FontBBox=Array([0, -236, advance, 928]), ItalicAngle=0, Ascent=928, Descent=-236, CapHeight=729,
        StemV=160,
        MissingWidth=advance, FontFile2=_font_file(pdf, templates),
    )  # fmt: skip
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Font,
            Subtype=Name.TrueType,
            BaseFont=Name(f"/{FIELD_FONT}"),
            FirstChar=FIRST,
            LastChar=LAST,
            Widths=Array([advance] * (LAST - FIRST + 1)),
            Encoding=Name.WinAnsiEncoding,
            FontDescriptor=pdf.make_indirect(descriptor),
        )
    )


def _font_file(pdf: Pdf, templates: Templates) -> Object:
    from pikepdf import Stream

    content = templates.read(f"fonts/{FIELD_FONT}.ttf")
    for item in pdf.objects:
        if isinstance(item, Stream) and item.get("/Length1") == len(content) and item.read_bytes() == content:
            return item
    made = Stream(pdf, content)
    made.Length1 = len(content)
    return pdf.make_indirect(made)


FAMILY = "+Traveler-Mono-Bold"
"""How the page engine's name for the face ends."""
AT_ONCE = 100
"""Letters in one section of the table from glyphs to letters; more is not allowed (CMap, 9 sections)."""


def embed_whole(pdf: Pdf, file: Object, templates: Templates) -> None:
    """Completes each composite font of the mono face: ``file`` is the whole font file in the PDF."""
    from pikepdf import Array, Dictionary

    face = font_face(FIELD_FONT, templates)
    for font in pdf.objects:
        if not isinstance(font, Dictionary) or font.get("/Subtype") != "/Type0":
            continue
        below = font.DescendantFonts[0]
        if not str(font.BaseFont).endswith(FAMILY) or below.FontDescriptor.FontFile2.objgen == file.objgen:
            continue
        below.FontDescriptor.FontFile2 = file
        below.W = Array([0, Array([face.widths["0"]] * (max(face.glyphs.values()) + 1))])
        font.ToUnicode.write(letters(face))


def letters(face: Face) -> bytes:
    """The table from glyph numbers to letters, by which text is copied out (ISO 32000-1, 9.10.3)."""
    pairs = sorted((glyph, letter) for letter, glyph in face.glyphs.items())
    return "\n".join((HEAD, *_sections(pairs), TAIL)).encode("ascii")


def _sections(pairs: list[tuple[int, str]]) -> Iterator[str]:
    for start in range(0, len(pairs), AT_ONCE):
        section = pairs[start : start + AT_ONCE]
        yield f"{len(section)} beginbfchar"
        yield from (f"<{glyph:04x}> <{letter.encode('utf-16-be').hex()}>" for glyph, letter in section)
        yield "endbfchar"


HEAD = """\
/CIDInit /ProcSet findresource begin
12 dict begin
begincmap
/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def
/CMapName /Adobe-Identity-UCS def
/CMapType 2 def
1 begincodespacerange
<0000> <ffff>
endcodespacerange"""
TAIL = """\
endcmap
CMapName currentdict /CMap defineresource pop
end
end"""
