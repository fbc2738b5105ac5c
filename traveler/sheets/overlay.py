"""What differs from page to page and is no text: corner marks and QR code, drawn as a stream of its own.

The stream comes first in the page's contents, in PDF's own coordinates, as an artifact, and needs no
resources: another serial is another small stream per page, nothing else on the page changes.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING

from traveler.sheets import corners, qr, symbols
from traveler.sheets.paper import Paper, Spot
from traveler.sheets.resources import Templates

if TYPE_CHECKING:
    import pikepdf


def mark_pages(pdf: pikepdf.Pdf, address: qr.Address, paper: Paper, templates: Templates) -> None:
    """Draw corner marks and QR code on every page."""
    for number, page in enumerate(pdf.pages):
        page.contents_add(page_marks(number, address, paper, templates), prepend=True)


def page_marks(page: int, address: qr.Address, paper: Paper, templates: Templates) -> bytes:
    """The stream with the marks of a page (from 0)."""
    return artifact([*corner_marks(page, paper, templates), qr_code(address.payload(page + 1), paper)])


def corner_marks(page: int, paper: Paper, templates: Templates) -> list[str]:
    """Drawing operators of the four corner marks of a page (from 0).

    None are left for pages beyond the last mark; only a sheet without a form has so many.
    """
    if page >= corners.MOST_PAGES:
        return []
    marks = (corners.mark(page, corner, templates) for corner in range(corners.CORNERS))
    return [
        squares(corners.dark(mark), len(mark), spot, paper)
        for mark, spot in zip(marks, paper.corners(), strict=True)
    ]


def qr_code(payload: str, paper: Paper) -> str:
    """Drawing operators of the QR code."""
    rows = symbols.modules(payload)
    return squares(symbols.runs(rows), len(rows), paper.qr(), paper)


def squares(runs: Iterable[tuple[int, int, int]], size: int, spot: Spot, paper: Paper) -> str:
    """Drawing operators for the dark modules of a symbol, as horizontal runs (column, row, length).

    ``size`` is the symbol's side in modules, which is scaled to its spot.
    """
    left, bottom, side = spot.points(paper)
    scale = side / size
    boxes = " ".join([_box(column, size - row - 1, length) for column, row, length in runs])
    return f"q {scale:.5f} 0 0 {scale:.5f} {left:.4f} {bottom:.4f} cm {boxes} f Q"


@lru_cache(maxsize=16_384)
def _box(left: int, bottom: int, length: int) -> str:
    return f"{left} {bottom} {length} 1 re"


def artifact(drawn: Iterable[str]) -> bytes:
    """The operators in black, marked as page furniture so that a reader for the blind passes over them."""
    return "\n".join(("/Artifact <</Type /Pagination>> BDC q 0 g", *drawn, "Q EMC")).encode("ascii")
