"""What differs from page to page and is no text: corner marks and QR code, drawn as a stream of its own.

The stream comes first in the page's contents, in PDF's own coordinates, as an artifact, and needs no
resources: another serial is another small stream per page, nothing else on the page changes.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from traveler.sheets import corners, qr
from traveler.sheets.paper import Paper, Spot
from traveler.sheets.resources import Templates

if TYPE_CHECKING:
    import pikepdf


def mark_pages(pdf: pikepdf.Pdf, address: qr.Address, paper: Paper, templates: Templates) -> None:
    """Draw corner marks and QR code on every page."""
    for number, page in enumerate(pdf.pages):
        drawn = [*corner_marks(number, paper, templates), qr_code(address.payload(number + 1), paper)]
        page.contents_add(artifact(drawn), prepend=True)


def corner_marks(page: int, paper: Paper, templates: Templates) -> list[str]:
    """Drawing operators of the four corner marks of a page (from 0)."""
    return [
        squares(corners.mark(page, corner, templates), spot, paper)
        for corner, spot in enumerate(paper.corners())
    ]


def qr_code(payload: str, paper: Paper) -> str:
    """Drawing operators of the QR code."""
    return squares(qr.matrix(payload), paper.qr(), paper)


def squares(modules: list[list[bool]], spot: Spot, paper: Paper) -> str:
    """Drawing operators for the dark modules of a symbol: a unit square of modules, scaled to its spot."""
    left, bottom, side = spot.points(paper)
    size = len(modules)
    scale = side / size
    boxes = " ".join(f"{column} {size - row - 1} {length} 1 re" for column, row, length in qr.runs(modules))
    return f"q {scale:.5f} 0 0 {scale:.5f} {left:.4f} {bottom:.4f} cm {boxes} f Q"


def artifact(drawn: Iterable[str]) -> bytes:
    """The operators in black, marked as page furniture so that a reader for the blind passes over them."""
    return "\n".join(("/Artifact <</Type /Pagination>> BDC q 0 g", *drawn, "Q EMC")).encode("ascii")
