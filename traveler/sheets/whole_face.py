"""The mono face of a sheet's pages, embedded whole: any serial can then be stamped in it.

The page engine embeds it whole where a form has text fields, and else with the letters used only. The file
is in every form anyway, for the fields (``field_font.py``), so nothing grows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from traveler.sheets import fonts
from traveler.sheets.fonts import Face

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pikepdf import Object, Pdf

    from traveler.sheets.resources import Templates

FAMILY = "+Traveler-Mono-Bold"
"""How the page engine's name for the face ends."""
AT_ONCE = 100
"""Letters in one section of the table from glyphs to letters; more is not allowed (CMap, 9 sections)."""


def embed_whole(pdf: Pdf, file: Object, templates: Templates) -> None:
    """Completes each composite font of the mono face: ``file`` is the whole font file in the PDF."""
    from pikepdf import Array, Dictionary

    face = fonts.face(fonts.FIELD_FONT, templates)
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
