"""The QR code of a page: what it says, and its picture.

The payload is upper case so that it fits the alphanumeric mode; error correction is level H. The version
and the mask are fixed: the symbol then has the same 33 modules (0.61 mm at 20 mm) on every sheet, and
making one takes half a millisecond instead of three. Decoders do not care which of the eight masks was
used (ISO/IEC 18004, 7.8).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape

LONGEST = 45
"""Characters of an address or ``SERIAL/PAGE``; version 4-H holds 50."""
LONGEST_GS1 = 64
"""Characters of a GS1 Digital Link; version 5-H holds 64."""
MASK = 2
VERSION = 4
ALPHANUMERIC = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")


@dataclass(frozen=True, slots=True)
class Address:
    """What QR codes of one unit start with. ``problem`` says why the wanted form could not be used."""

    start: str
    paged: bool
    problem: str = ""

    def payload(self, page: int) -> str:
        """The payload of one page (from 1)."""
        return f"{self.start}/{page}" if self.paged else self.start


def address(serial: str, base_url: str | None = None, gtin: str | None = None) -> Address:
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


def matrix(payload: str) -> list[list[bool]]:
    """The modules of the symbol, row by row from the top, without quiet zone.

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
    return [[bool(module) for module in row] for row in code.get_matrix()]


def runs(modules: list[list[bool]]) -> Iterator[tuple[int, int, int]]:
    """The dark modules as horizontal runs: column, row, length.

    Fewer shapes, and no hairlines between modules.
    """
    for row, line in enumerate(modules):
        column = 0
        while column < len(line):
            if not line[column]:
                column += 1
                continue
            start = column
            while column < len(line) and line[column]:
                column += 1
            yield start, row, column - start


def svg_path(modules: list[list[bool]]) -> str:
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
