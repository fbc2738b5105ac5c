"""The one font of form fields: simple, with the Windows Latin encoding, embedded whole.

Every reader can fill a field set in such a font. The composite font that WeasyPrint writes is read well,
but most libraries make wrong appearances with it. The font file itself is shared with that font, so it is
in the PDF once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from traveler.sheets import fonts
from traveler.sheets.resources import Templates

if TYPE_CHECKING:
    from pikepdf import Object, Pdf

FIELD_FONT_NAME = "TravelerMono"
FIRST, LAST = 32, 255
FIXED_PITCH, NONSYMBOLIC = 1, 32


def field_font(pdf: Pdf, templates: Templates) -> Object:
    """The font as an object of this PDF."""
    from pikepdf import Array, Dictionary, Name

    face = fonts.face(fonts.FIELD_FONT, templates)
    advance = face.widths["0"]
    descriptor = Dictionary(
        Type=Name.FontDescriptor, FontName=Name(f"/{fonts.FIELD_FONT}"), Flags=FIXED_PITCH | NONSYMBOLIC,
        FontBBox=Array([0, -236, advance, 928]), ItalicAngle=0, Ascent=928, Descent=-236, CapHeight=729,
        StemV=160,
        MissingWidth=advance, FontFile2=_font_file(pdf, templates),
    )  # fmt: skip
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Font,
            Subtype=Name.TrueType,
            BaseFont=Name(f"/{fonts.FIELD_FONT}"),
            FirstChar=FIRST,
            LastChar=LAST,
            Widths=Array([advance] * (LAST - FIRST + 1)),
            Encoding=Name.WinAnsiEncoding,
            FontDescriptor=pdf.make_indirect(descriptor),
        )
    )


def _font_file(pdf: Pdf, templates: Templates) -> Object:
    from pikepdf import Stream

    content = templates.read(f"fonts/{fonts.FIELD_FONT}.ttf")
    for one in pdf.objects:
        if isinstance(one, Stream) and one.get("/Length1") == len(content) and one.read_bytes() == content:
            return one
    made = Stream(pdf, content)
    made.Length1 = len(content)
    return pdf.make_indirect(made)
