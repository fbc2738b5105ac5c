"""Corner marks: ArUco marks of the 4×4 dictionary with 1000 words, number = page × 4 + corner, page from 0.

A scanned page can be laid over its own form rectangles by them, and they tell the page even when the QR
code is lost.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from traveler.sheets.resources import Templates

CORNERS = 4
MODULES = 6
"""Side of a mark in modules: four bits and the black border around them."""
MOST_PAGES = 250


@lru_cache(maxsize=4)
def patterns(templates: Templates) -> tuple[int, ...]:
    """The 1000 words, 16 bits each, first bit at the top left, set bits white."""
    text = templates.read("corners.txt").decode("ascii")
    rows = (line for line in text.splitlines() if line and not line.startswith("#"))
    return tuple(int(word, 16) for row in rows for word in row.split())


def mark(page: int, corner: int, templates: Templates) -> list[list[bool]]:
    """The mark of a corner (0 top left, then clockwise) of a page (from 0).

    Rows of modules, True is black.
    """
    word = patterns(templates)[page * CORNERS + corner]
    inner = [[not word >> (15 - 4 * row - column) & 1 for column in range(4)] for row in range(4)]
    edge = [True] * MODULES
    return [edge, *([True, *row, True] for row in inner), edge]


def dark(modules: list[list[bool]]) -> Iterator[tuple[int, int, int]]:
    """The dark modules as horizontal runs: column, row, length."""
    from traveler.sheets.qr import runs

    return runs(modules)
