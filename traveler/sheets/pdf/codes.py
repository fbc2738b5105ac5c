"""QR codes and corner marks: what they say, their modules, and how they are drawn on a page."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from typing import TYPE_CHECKING

from traveler.sheets.pdf.paper import Paper, Square
from traveler.sheets.templates import Templates

if TYPE_CHECKING:
    import pikepdf

LONGEST = 45
"""Characters of an address or ``SERIAL/PAGE``; version 4-H holds 50."""
LONGEST_GS1 = 64
"""Characters of a GS1 Digital Link; version 5-H holds 64."""
MASK = 2
VERSION = 4
ALPHANUMERIC = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")


Symbol = tuple[str, ...]
"""A QR code or a corner mark: its modules row by row from the top, ``1`` dark."""
RUN = re.compile("1+")


@dataclass(frozen=True, slots=True)
class Address:
    """What QR codes of one unit start with. ``problem`` says why the wanted form could not be used."""

    start: str
    paged: bool
    problem: str = ""

    def payload(self, page: int) -> str:
        """The payload of one page (from 1)."""
        return f"{self.start}/{page}" if self.paged else self.start


def qr_address(serial: str, base_url: str | None = None, gtin: str | None = None) -> Address:
    """What the codes of a unit start with.

    A GS1 Digital Link when the product has a GTIN and the shop a base URL, else ``BASE_URL/U/SERIAL``, else
    the serial alone. One that is too long or not alphanumeric falls back to the serial.
    """
    serial = serial.strip().upper()
    base = (base_url or "").strip().rstrip("/").upper()
    if base and gtin:
        link = Address(f"{base}/01/{gtin.zfill(14)}/21/{serial}", paged=False)
        return _fitting(link, LONGEST_GS1, serial)
    if base:
        return _fitting(Address(f"{base}/U/{serial}", paged=True), LONGEST, serial)
    return Address(serial, paged=True)


def _fitting(wanted: Address, longest: int, serial: str) -> Address:
    payload = wanted.payload(100) if wanted.paged else wanted.start
    if strange := sorted(set(payload) - ALPHANUMERIC):
        return Address(serial, paged=True, problem=f"the address {payload} holds {' '.join(strange)}")
    if len(payload) > longest:
        problem = f"the address {payload} has {len(payload)} characters, a code holds {longest}"
        return Address(serial, paged=True, problem=problem)
    return wanted


def matrix(payload: str) -> Symbol:
    """The modules of a QR code as the library makes it, without quiet zone.

    Raises:
        ValueError: a character is outside the alphanumeric mode, or the payload is too long for version 5-H.
    """
    from qrcode import constants, util
    from qrcode.main import QRCode

    if strange := set(payload) - ALPHANUMERIC:
        msg = f"not alphanumeric: {sorted(strange)}"
        raise ValueError(msg)
    if len(payload) > LONGEST_GS1:
        msg = f"{len(payload)} characters; a code holds {LONGEST_GS1}"
        raise ValueError(msg)
    version = VERSION if len(payload) <= LONGEST + 5 else VERSION + 1
    code = QRCode(version=version, error_correction=constants.ERROR_CORRECT_H, mask_pattern=MASK, border=0)
    code.add_data(util.QRData(payload.encode("ascii"), mode=util.MODE_ALPHA_NUM, check_data=False))
    code.make(fit=False)
    return tuple("".join("1" if module else "0" for module in row) for row in code.get_matrix())


def runs(rows: Iterable[str]) -> Iterator[tuple[int, int, int]]:
    """The dark modules as horizontal runs: column, row, length.

    Fewer shapes, and no hairlines between modules.
    """
    for row, line in enumerate(rows):
        for run in RUN.finditer(line):
            yield run.start(), row, run.end() - run.start()


def svg_path(modules: Symbol) -> str:
    """The symbol as SVG path data, one unit a module, its origin at the top left module."""
    return "".join(f"M{column} {row}h{length}v1h-{length}z" for column, row, length in runs(modules))


def svg(payload: str, quiet: int = 4, words: str = "QR code") -> str:
    """The symbol with its quiet zone as an SVG element without a size of its own.

    ``words`` say what it is to who cannot see it; the payload follows.
    """
    modules = matrix(payload)
    side = len(modules) + 2 * quiet
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{-quiet} {-quiet} {side} {side}">'
        f'<title>{escape(words)}: {payload}</title><path d="{svg_path(modules)}" fill="#000"/></svg>'
    )


FILL = "A"


def modules(payload: str) -> Symbol:
    """The same as :func:`matrix`, put together from symbols made before.

    Raises:
        ValueError: as :func:`traveler.sheets.pdf.codes.matrix`.
    """
    length = len(payload)
    bits, side = _plain(length)
    for start in range(0, length, 2):
        bits ^= _contribution(length, start, payload[start : start + 2])
    drawn = format(bits, f"0{side * side}b")
    return tuple(drawn[row * side : (row + 1) * side] for row in range(side))


@lru_cache(maxsize=64)
def _plain(length: int) -> tuple[int, int]:
    return _bits(FILL * length)


@lru_cache(maxsize=16_384)
def _contribution(length: int, start: int, pair: str) -> int:
    """What these characters change of the plain symbol."""
    payload = FILL * start + pair + FILL * (length - start - len(pair))
    return _bits(payload)[0] ^ _plain(length)[0]


def _bits(payload: str) -> tuple[int, int]:
    """All modules as one number, the top left one first, and the side of the symbol."""
    rows = matrix(payload)
    return int("".join(rows), 2), len(rows)


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


def mark(page: int, corner: int, templates: Templates) -> Symbol:
    """The mark of a corner (0 top left, then clockwise) of a page (from 0)."""
    dark = format(patterns(templates)[page * CORNERS + corner] ^ 0xFFFF, "016b")
    edge = "1" * MODULES
    return (edge, *(f"1{dark[start : start + 4]}1" for start in range(0, 16, 4)), edge)


def mark_pages(pdf: pikepdf.Pdf, address: Address, paper: Paper, templates: Templates) -> None:
    """Draw corner marks and QR code on every page."""
    for number, page in enumerate(pdf.pages):
        page.contents_add(page_marks(number, address, paper, templates), prepend=True)


def page_marks(page: int, address: Address, paper: Paper, templates: Templates) -> bytes:
    """The stream with the marks of a page (from 0)."""
    return artifact([*corner_marks(page, paper, templates), qr_code(address.payload(page + 1), paper)])


def corner_marks(page: int, paper: Paper, templates: Templates) -> list[str]:
    """Drawing operators of the four corner marks of a page (from 0).

    None are left for pages beyond the last mark; only a sheet without a form has so many.
    """
    if page >= MOST_PAGES:
        return []
    marks = (mark(page, corner, templates) for corner in range(CORNERS))
    return [squares(symbol, spot, paper) for symbol, spot in zip(marks, paper.corners(), strict=True)]


def qr_code(payload: str, paper: Paper) -> str:
    """Drawing operators of the QR code."""
    return squares(modules(payload), paper.qr(), paper)


def squares(symbol: Symbol, spot: Square, paper: Paper) -> str:
    """Drawing operators for the dark modules of a symbol, scaled to its spot."""
    left, bottom, side = spot.points(paper)
    scale = side / len(symbol)
    boxes = " ".join([_box(column, len(symbol) - row - 1, length) for column, row, length in runs(symbol)])
    return f"q {scale:.5f} 0 0 {scale:.5f} {left:.4f} {bottom:.4f} cm {boxes} f Q"


@lru_cache(maxsize=16_384)
def _box(left: int, bottom: int, length: int) -> str:
    return f"{left} {bottom} {length} 1 re"


def artifact(drawn: Iterable[str]) -> bytes:
    """The operators in black, marked as page furniture so that a reader for the blind passes over them."""
    return "\n".join(("/Artifact <</Type /Pagination>> BDC q 0 g", *drawn, "Q EMC")).encode("ascii")
