"""Make the three shop fonts from the DejaVu fonts of a system: ``python make_fonts.py DEJAVU_FOLDER``.

Run only when the covered characters change; the results are committed beside this file. The fonts get a
name of their own, as the licence (LICENSE.txt) asks of a modified font, keep kerning, and lose hinting
(paper) and ligatures (text must extract as it was written).
"""

from __future__ import annotations

import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

RANGES = (
    (0x20, 0x7E), (0xA0, 0x17F), (0x218, 0x21B), (0x2C6, 0x2C7), (0x2D8, 0x2DD),
    (0x391, 0x3A9), (0x3B1, 0x3C9), (0x1E80, 0x1E85), (0x1E9E, 0x1E9E), (0x2000, 0x200A),
    (0x2010, 0x2015), (0x2018, 0x201E), (0x2020, 0x2022), (0x2026, 0x2026), (0x202F, 0x202F),
    (0x2030, 0x2030), (0x2032, 0x2033), (0x2039, 0x203A), (0x2044, 0x2044), (0x2070, 0x2071),
    (0x2074, 0x208E), (0x2090, 0x209C), (0x20AC, 0x20AC), (0x2103, 0x2103), (0x2109, 0x2109),
    (0x2113, 0x2113), (0x2116, 0x2116), (0x2122, 0x2122), (0x2126, 0x2126), (0x2150, 0x215E),
    (0x2190, 0x2199), (0x21BA, 0x21BB), (0x2202, 0x2202), (0x2206, 0x2206), (0x2211, 0x2213),
    (0x221A, 0x221A), (0x221E, 0x2220), (0x2225, 0x2225), (0x222B, 0x222B), (0x2248, 0x2248),
    (0x2260, 0x2261), (0x2264, 0x2265), (0x22A5, 0x22A5), (0x22C5, 0x22C5), (0x2300, 0x2300),
    (0x25A0, 0x25A1), (0x25B2, 0x25B3), (0x25B6, 0x25B7), (0x25BC, 0x25BD), (0x25C6, 0x25C7),
    (0x25CB, 0x25CB), (0x25CF, 0x25CF), (0x2610, 0x2612), (0x26A0, 0x26A0), (0x2713, 0x2714),
    (0x2717, 0x2717),
)  # fmt: skip

FONTS = (
    ("DejaVuSans.ttf", "TravelerSans-Regular.ttf", "Traveler Sans", "Regular"),
    ("DejaVuSans-Bold.ttf", "TravelerSans-Bold.ttf", "Traveler Sans", "Bold"),
    ("DejaVuSansMono-Bold.ttf", "TravelerMono-Bold.ttf", "Traveler Mono", "Bold"),
)

NAMES_KEPT = {0, 1, 2, 3, 4, 5, 6, 13, 14}


def rename(font: TTFont, family: str, style: str) -> None:
    """Give the font its own names; the copyright notice stays."""
    full = f"{family} {style}"
    words = {1: family, 2: style, 3: f"{full}; subset of DejaVu 2.37", 4: full}
    words[6] = f"{family.replace(' ', '')}-{style}"
    for record in list(font["name"].names):
        if record.nameID not in NAMES_KEPT:
            font["name"].removeNames(nameID=record.nameID)
    for number, text in words.items():
        font["name"].setName(text, number, 3, 1, 0x409)
        font["name"].setName(text, number, 1, 0, 0)


def make(source: Path, target: Path, family: str, style: str) -> None:
    """One font: subset, renamed, with fixed times so that the same source gives the same bytes."""
    options = subset.Options()
    options.layout_features = ["kern", "mark", "mkmk", "ccmp", "locl"]
    options.hinting = False
    options.name_IDs = ["*"]
    options.notdef_outline = True
    options.recalc_timestamp = False
    font = subset.load_font(str(source), options)
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=[code for first, last in RANGES for code in range(first, last + 1)])
    cutter.subset(font)
    rename(font, family, style)
    font["head"].created = font["head"].modified = 3_600_000_000
    subset.save_font(font, str(target), options)


if __name__ == "__main__":
    here = Path(__file__).parent
    for file, ours, family, style in FONTS:
        make(Path(sys.argv[1]) / file, here / ours, family, style)
