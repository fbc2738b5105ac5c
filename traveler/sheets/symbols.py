"""QR codes of a batch: each made from symbols made before.

With version, mask and length fixed, every module of a QR code is an exclusive-or of payload bits (error
correction is linear, ISO/IEC 18004, 7.5), and two characters of the alphanumeric mode have eleven bits of
their own. So what a pair of characters contributes can be kept: a symbol is the plain one of its length
with the contributions of its pairs laid over it. That is a hundred times faster than making it anew.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache

from traveler.sheets import qr

FILL = "A"
RUN = re.compile("1+")


def modules(payload: str) -> tuple[str, ...]:
    """The modules of the symbol, row by row from the top, ``1`` dark; the same as :func:`qr.matrix` gives.

    Raises:
        ValueError: as :func:`traveler.sheets.qr.matrix`.
    """
    length = len(payload)
    bits, side = _plain(length)
    for start in range(0, length, 2):
        bits ^= _contribution(length, start, payload[start : start + 2])
    drawn = format(bits, f"0{side * side}b")
    return tuple(drawn[row * side : (row + 1) * side] for row in range(side))


def runs(rows: Iterable[str]) -> Iterator[tuple[int, int, int]]:
    """The dark modules as horizontal runs: column, row, length, as :func:`traveler.sheets.qr.runs` gives."""
    for row, line in enumerate(rows):
        for run in RUN.finditer(line):
            yield run.start(), row, run.end() - run.start()


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
    rows = qr.matrix(payload)
    return int("".join("1" if module else "0" for row in rows for module in row), 2), len(rows)
