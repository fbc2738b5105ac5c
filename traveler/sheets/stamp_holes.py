"""Holes: the places in a rendered file that a unit's own texts are written into, each in its own spelling."""

from __future__ import annotations

import re
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol
from xml.sax.saxutils import escape

from traveler.sheets import overlay, qr
from traveler.sheets.paper import Paper

Exchange = Mapping[str, str]
"""Placeholder → the unit's own text."""
PACKED = 6
"""How hard the streams are compressed that are written once."""
QUICK = 1
"""The same for those that are written for every unit."""
SMALL = 400
"""Bytes below which compressing gains nothing."""


class Hole(Protocol):
    """A stretch of a file that differs from unit to unit."""

    def filled(self, exchange: Exchange) -> bytes:
        """What stands there for one unit."""


def exchanged(text: str, exchange: Exchange) -> str:
    """The text with every placeholder exchanged, all at once: a unit's own text is not looked into again.

    >>> exchanged("q7zx of 7391", {"q7zx": "7391", "7391": "4471"})
    '7391 of 4471'
    """
    placeholders = "|".join(re.escape(one) for one in exchange)
    return re.sub(placeholders, lambda found: exchange[found[0]], text)


@dataclass(frozen=True, slots=True)
class TextString:
    """A string of the file: a title, a bookmark, the value of a field."""

    text: str

    def filled(self, exchange: Exchange) -> bytes:
        """The string as a token, in whichever encoding the text needs."""
        from pikepdf import String

        return bytes(String(exchanged(self.text, exchange)).unparse())


@dataclass(frozen=True, slots=True)
class Letters:
    """Letters in a stream, one by one as ``codes`` spells them."""

    text: str
    codes: Mapping[str, bytes]

    def filled(self, exchange: Exchange) -> bytes:
        """The letters."""
        return b"".join(self.codes[letter] for letter in exchanged(self.text, exchange))


@dataclass(frozen=True, slots=True)
class Words:
    """Text inside XML."""

    text: str

    def filled(self, exchange: Exchange) -> bytes:
        """The text escaped, in UTF-8."""
        return escape(exchanged(self.text, exchange)).encode()


@dataclass(frozen=True, slots=True)
class Code:
    """The QR code of a page (from 1)."""

    serial: str
    page: int
    base_url: str | None
    gtin: str | None
    paper: Paper

    def filled(self, exchange: Exchange) -> bytes:
        """The drawing operators of the code."""
        address = qr.address(exchange[self.serial], self.base_url, self.gtin)
        return overlay.qr_code(address.payload(self.page), self.paper).encode("ascii")


@dataclass(frozen=True, slots=True)
class Template:
    """One object with holes.

    ``head``: what the dictionary of a stream says besides length and filter; None: the object is no stream.
    ``packed``: it may be compressed.
    """

    parts: tuple[bytes | Hole, ...]
    head: bytes | None = None
    packed: bool = True

    def filled(self, exchange: Exchange) -> bytes:
        """The object for one unit, without its number."""
        content = b"".join(part if isinstance(part, bytes) else part.filled(exchange) for part in self.parts)
        if self.head is None:
            return content
        return stream(self.head, content, packed=QUICK if self.packed and len(content) >= SMALL else None)


def stream(head: bytes, content: bytes, *, packed: int | None = PACKED) -> bytes:
    """A stream object: ``head`` is what its dictionary says besides length and filter.

    ``packed``: how hard it is compressed, None: not at all.
    """
    if packed is not None:
        content, head = zlib.compress(content, packed), head + b" /Filter /FlateDecode"
    return b"<< %s /Length %d >>\nstream\n%s\nendstream" % (head, len(content), content)
