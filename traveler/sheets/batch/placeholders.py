"""Placeholders in a rendered PDF: found, cut out, and filled with a unit's own texts."""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol
from xml.sax.saxutils import escape

from traveler.sheets.pdf import codes as overlay
from traveler.sheets.pdf import codes as qr
from traveler.sheets.pdf.paper import Paper

if TYPE_CHECKING:
    from pikepdf import Object, Pdf

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
    placeholders = "|".join(re.escape(item) for item in exchange)
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
class XmlText:
    """Text inside XML."""

    text: str

    def filled(self, exchange: Exchange) -> bytes:
        """The text escaped, in UTF-8."""
        return escape(exchanged(self.text, exchange)).encode()


@dataclass(frozen=True, slots=True)
class PageCode:
    """The QR code of a page (from 1)."""

    serial: str
    page: int
    base_url: str | None
    gtin: str | None
    paper: Paper

    def filled(self, exchange: Exchange) -> bytes:
        """The drawing operators of the code."""
        address = qr.qr_address(exchange[self.serial], self.base_url, self.gtin)
        return overlay.qr_code(address.payload(self.page), self.paper).encode("ascii")


@dataclass(frozen=True, slots=True)
class HoledObject:
    """One object with holes.

    ``head``: what the dictionary of a stream says besides length and filter; None: not a stream.
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


FONT_OR_LETTERS = re.compile(rb"/(\S+)\s+[\d.]+\s+Tf|\[([^\]]*)\]\s*TJ")
GLYPH = re.compile(rb"<([0-9a-fA-F]{4})>")
OF_A_FILE = {"/Length", "/Filter", "/DecodeParms"}
"""What a stream's dictionary says about how it is kept, not about what it is."""
REWRITTEN = {"/ObjStm", "/XRef"}
"""Objects that only say where others lie; they are written again."""


class NotStampable(Exception):
    """A placeholder stands where it cannot be exchanged. The text says where."""


@dataclass(frozen=True, slots=True)
class Apart:
    """The objects of a master by number: plain ones and streams that all share, and templates with holes."""

    plain: dict[int, bytes]
    streams: dict[int, bytes]
    own: dict[int, HoledObject]


@dataclass(frozen=True, slots=True)
class Search:
    """Looks for placeholders. ``glyphs``: letter → glyph number in the face that is embedded whole."""

    placeholders: tuple[str, ...]
    glyphs: Mapping[str, int]
    face: bytes

    def apart(self, pdf: Pdf, marks: Mapping[bytes, HoledObject]) -> Apart:
        """The objects of a finished file; ``marks``: the marks of each page → what draws another unit's.

        Raises:
            NotStampable: see there.
        """
        shared: dict[bytes, Object] = {}
        for page in pdf.pages:
            self._split(pdf, page.obj, shared)
        found = Apart({}, {}, {})
        for number in range(1, len(pdf.objects) + 1):
            self._sort(number, pdf.get_object((number, 0)), marks, found)
        return found

    def _split(self, pdf: Pdf, page: Object, shared: dict[bytes, Object]) -> None:
        """Cuts each placeholder out of a page's contents, as a stream of its own between two that stay.

        The stream is ``shared`` by all places where the same letters are written.
        """
        from pikepdf import Array, Stream

        parts = []
        for content in page.Contents if isinstance(page.Contents, Array) else [page.Contents]:
            parts.append(content)
            first, *others = self._pieces(content.read_bytes(), page.Resources)
            if others:
                content.write(first)
            for piece in others:
                if piece not in shared:
                    shared[piece] = pdf.make_indirect(Stream(pdf, piece))
                parts.append(shared[piece])
        page.Contents = Array(parts)

    def _pieces(self, content: bytes, resources: Object) -> Iterator[bytes]:
        done, font = 0, ""
        for match in FONT_OR_LETTERS.finditer(content):
            if match[1] is not None:
                font = f"/{match[1].decode('ascii', 'replace')}"
            elif self._met(match[0]):
                face = resources.Font[font]
                if not self._whole(face):
                    msg = f"it stands on a page in {face.BaseFont}, which holds only the letters used"
                    raise NotStampable(msg)
                yield content[done : match.start()]
                yield match[0]
                done = match.end()
        yield content[done:]

    def _met(self, letters: bytes) -> bool:
        """Whether a placeholder is written there, in any of the faces: they number their glyphs alike."""
        numbers = [int(match, 16) for match in GLYPH.findall(letters)]
        letter_of = {number: letter for letter, number in self.glyphs.items()}
        return self._within("".join(letter_of.get(number, "\0") for number in numbers))

    def _whole(self, font: Object) -> bool:
        """Whether this is the stamping face, embedded with all its letters."""
        below = font.get("/DescendantFonts")
        file = below[0].FontDescriptor.get("/FontFile2") if below is not None else None
        return file is not None and file.read_bytes() == self.face

    def _within(self, text: str) -> bool:
        return any(placeholder in text for placeholder in self.placeholders)

    def _sort(self, number: int, item: Object, marks: Mapping[bytes, HoledObject], found: Apart) -> None:
        from pikepdf import Dictionary, Object, Stream

        if isinstance(item, Dictionary | Stream) and str(item.get("/Type")) in REWRITTEN:
            return
        if isinstance(item, Stream):
            self._sort_stream(number, item, marks, found)
            return
        body = item.unparse(resolved=True) if isinstance(item, Object) else _scalar(item)
        parts = _cut(body, {text.unparse(): TextString(str(text)) for text in self._strings(item)})
        self._sweep(parts)
        if len(parts) > 1:
            found.own[number] = HoledObject(parts)
        elif body != b"null":
            found.plain[number] = body

    def _strings(self, item: object) -> Iterator[Object]:
        """The strings with a placeholder inside an object, not following references."""
        from pikepdf import Array, Dictionary, String

        if isinstance(item, String):
            if self._within(str(item)):
                yield item
        elif isinstance(item, Dictionary | Array):
            inside: Iterable[object] = item.values() if isinstance(item, Dictionary) else item
            for part in inside:
                if not getattr(part, "is_indirect", False):
                    yield from self._strings(part)

    def _sort_stream(
        self, number: int, path: Object, marks: Mapping[bytes, HoledObject], found: Apart
    ) -> None:
        if path.get("/Subtype") == "/Image":
            found.streams[number] = _as_it_is(path)
            return
        content, packed = path.read_bytes(), path.get("/Type") != "/Metadata"
        if content in marks:
            found.own[number] = marks[content]
            return
        parts = _cut(content, self._holes(path))
        head = _head(path)
        self._sweep((*parts, head))
        if len(parts) > 1:
            found.own[number] = HoledObject(parts, head, packed=packed)
        else:
            found.streams[number] = (
                _as_it_is(path)
                if "/Filter" in path
                else stream(head, content, packed=PACKED if packed else None)
            )

    def _holes(self, item: Object) -> dict[bytes, Hole]:
        """Spelling of each placeholder as it may stand in this stream → the hole it is."""
        if item.get("/Type") == "/Metadata":
            return {text.encode(): XmlText(text) for text in self.placeholders}
        if item.get("/Subtype") == "/Form":
            return {_codes(text): Letters(text, _WINDOWS) for text in self.placeholders}
        spelled = {letter: b"<%04x>0" % number for letter, number in self.glyphs.items()}
        return {
            b"".join(spelled[letter] for letter in text): Letters(text, spelled) for text in self.placeholders
        }

    def _sweep(self, parts: Iterable[bytes | Hole]) -> None:
        """Refuses a placeholder that is left, in whatever spelling."""
        for part in parts:
            if isinstance(part, bytes) and (left := self._left(part)):
                msg = f"'{left}' is left in {part[:60]!r}"
                raise NotStampable(msg)

    def _left(self, part: bytes) -> str | None:
        lower = part.lower()
        for text in self.placeholders:
            wide = text.encode("utf-16-be")
            spellings = (text.encode(), wide, wide.hex().encode(), _codes(text))
            if any(spelling.lower() in lower for spelling in spellings):
                return text
        return None


_WINDOWS = {chr(code): b"%02x" % code for code in range(32, 127)}


def _codes(text: str) -> bytes:
    """The text as a filled field spells it: Windows Latin codes in hexadecimal."""
    return b"".join(_WINDOWS[letter] for letter in text)


def _cut(content: bytes, holes: Mapping[bytes, Hole]) -> tuple[bytes | Hole, ...]:
    """The content with its holes: stretches that stay, and holes between them."""
    if not holes:
        return (content,)
    cut = re.split(b"(%s)" % b"|".join(re.escape(spelling) for spelling in holes), content)
    return tuple(holes[part] if place % 2 else part for place, part in enumerate(cut))


def _as_it_is(stream: Object) -> bytes:
    """A stream object as it lies in the file."""
    return b"%s\nstream\n%s\nendstream" % (stream.stream_dict.unparse(resolved=True), stream.read_raw_bytes())


def _head(item: Object) -> bytes:
    """What a stream's dictionary says, but for how the stream is kept."""
    from pikepdf import Dictionary

    facts = {key: value for key, value in item.stream_dict.items() if key not in OF_A_FILE}
    return bytes(Dictionary(facts).unparse(resolved=True))[2:-2].strip()


def _scalar(item: object) -> bytes:
    """A number, a truth value or nothing, as an object of its own."""
    words = {None: b"null", True: b"true", False: b"false"}
    return words[item] if item is None or isinstance(item, bool) else str(item).encode("ascii")
