"""The shipped fonts: names, license, coverage."""

from __future__ import annotations

from io import BytesIO

import pytest

from traveler.sheets.pdf import fonts
from traveler.sheets.templates import templates

NEEDED = "0123456789 ABCxyz µΩ°±≤≥⌀✓·×–—−→¼½¾☐₂²³ ÄÖÜäöüßñçéèőŁłžș „“«»…⊥∥"
MONO_LACKS = "∥"


@pytest.mark.parametrize("name", [fonts.SANS, fonts.SANS_BOLD, fonts.MONO_BOLD])
def test_a_modified_font_bears_none_of_the_reserved_names_and_keeps_its_notice(name):
    from fontTools.ttLib import TTFont

    font = TTFont(BytesIO(templates().read(f"fonts/{name}.ttf")))
    for record in font["name"].names:
        if record.nameID in {1, 3, 4, 6}:
            assert not [word for word in ("Bitstream", "Vera", "Arev", "Tavmjong") if word in str(record)]
    assert "Bitstream" in str(font["name"].getDebugName(0))
    assert b"Bitstream Vera Fonts Copyright" in templates().read("fonts/LICENSE.txt")


def test_the_faces_cover_the_trade():
    assert fonts.missing((NEEDED,), templates()) == []
    mono = fonts.font_face(fonts.MONO_BOLD, templates()).glyphs
    assert set(NEEDED) - set(mono) == set(MONO_LACKS)


def test_what_is_not_covered_is_named():
    assert fonts.missing(("a漢b", "ж"), templates()) == ["ж", "漢"]


def test_the_field_face_has_one_width():
    face = fonts.font_face(fonts.FIELD_FONT, templates())
    assert len({face.widths[sign] for sign in "0Wi.-µΩ"}) == 1
