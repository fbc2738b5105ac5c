"""The master taken apart: where its placeholders stand, and what is the same on every sheet of the kind.

A placeholder is looked for in every object: in strings, in the letters of pages and of filled fields, in
the XML about the document, in the marks of the pages. One that stands anywhere else, or in another font
than the one that is embedded whole, cannot be stamped; then nothing of the kind is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from traveler.sheets.stamp_holes import PACKED, Hole, Letters, Template, TextString, Words, stream

if TYPE_CHECKING:
    from pikepdf import Object, Pdf

FONT_OR_LETTERS = re.compile(rb"/(\S+)\s+[\d.]+\s+Tf|\[([^\]]*)\]\s*TJ")
GLYPH = re.compile(rb"<([0-9a-fA-F]{4})>")
OF_A_FILE = {"/Length", "/Filter", "/DecodeParms"}
"""What a stream's dictionary says about how it is kept, not about what it is."""
REWRITTEN = {"/ObjStm", "/XRef"}
"""Objects that only say where others lie; they are made anew."""


class NotStampable(Exception):  # noqa: N818 - the caller prints each sheet by itself instead
    """A placeholder stands where it cannot be exchanged. The text says where."""


@dataclass(frozen=True, slots=True)
class Apart:
    """The objects of a master by number: plain ones and streams that all share, and templates with holes."""

    plain: dict[int, bytes]
    streams: dict[int, bytes]
    own: dict[int, Template]


@dataclass(frozen=True, slots=True)
class Search:
    """Looks for placeholders. ``glyphs``: letter → glyph number in the face that is embedded whole."""

    placeholders: tuple[str, ...]
    glyphs: Mapping[str, int]
    face: bytes

    def apart(self, pdf: Pdf, marks: Mapping[bytes, Template]) -> Apart:
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
        numbers = [int(one, 16) for one in GLYPH.findall(letters)]
        letter_of = {number: letter for letter, number in self.glyphs.items()}
        return self._within("".join(letter_of.get(number, "\0") for number in numbers))

    def _whole(self, font: Object) -> bool:
        """Whether this is the stamping face, embedded with all its letters."""
        below = font.get("/DescendantFonts")
        file = below[0].FontDescriptor.get("/FontFile2") if below is not None else None
        return file is not None and file.read_bytes() == self.face

    def _within(self, text: str) -> bool:
        return any(placeholder in text for placeholder in self.placeholders)

    def _sort(self, number: int, one: Object, marks: Mapping[bytes, Template], found: Apart) -> None:
        from pikepdf import Dictionary, Object, Stream

        if isinstance(one, Dictionary | Stream) and str(one.get("/Type")) in REWRITTEN:
            return
        if isinstance(one, Stream):
            self._sort_stream(number, one, marks, found)
            return
        body = one.unparse(resolved=True) if isinstance(one, Object) else _scalar(one)
        parts = _cut(body, {text.unparse(): TextString(str(text)) for text in self._strings(one)})
        self._sweep(parts)
        if len(parts) > 1:
            found.own[number] = Template(parts)
        elif body != b"null":
            found.plain[number] = body

    def _strings(self, one: object) -> Iterator[Object]:
        """The strings with a placeholder inside an object, not following references."""
        from pikepdf import Array, Dictionary, String

        if isinstance(one, String):
            if self._within(str(one)):
                yield one
        elif isinstance(one, Dictionary | Array):
            inside: Iterable[object] = one.values() if isinstance(one, Dictionary) else one
            for part in inside:
                if not getattr(part, "is_indirect", False):
                    yield from self._strings(part)

    def _sort_stream(self, number: int, one: Object, marks: Mapping[bytes, Template], found: Apart) -> None:
        if one.get("/Subtype") == "/Image":
            found.streams[number] = _as_it_is(one)
            return
        content, packed = one.read_bytes(), one.get("/Type") != "/Metadata"
        if content in marks:
            found.own[number] = marks[content]
            return
        parts = _cut(content, self._holes(one))
        head = _head(one)
        self._sweep((*parts, head))
        if len(parts) > 1:
            found.own[number] = Template(parts, head, packed=packed)
        else:
            found.streams[number] = (
                _as_it_is(one)
                if "/Filter" in one
                else stream(head, content, packed=PACKED if packed else None)
            )

    def _holes(self, one: Object) -> dict[bytes, Hole]:
        """Spelling of each placeholder as it may stand in this stream → the hole it is."""
        if one.get("/Type") == "/Metadata":
            return {text.encode(): Words(text) for text in self.placeholders}
        if one.get("/Subtype") == "/Form":
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


def _as_it_is(one: Object) -> bytes:
    """A stream object as it lies in the file."""
    return b"%s\nstream\n%s\nendstream" % (one.stream_dict.unparse(resolved=True), one.read_raw_bytes())


def _head(one: Object) -> bytes:
    """What a stream's dictionary says, but for how the stream is kept."""
    from pikepdf import Dictionary

    facts = {key: value for key, value in one.stream_dict.items() if key not in OF_A_FILE}
    return bytes(Dictionary(facts).unparse(resolved=True))[2:-2].strip()


def _scalar(one: object) -> bytes:
    """A number, a truth value or nothing, as an object of its own."""
    words = {None: b"null", True: b"true", False: b"false"}
    return words[one] if one is None or isinstance(one, bool) else str(one).encode("ascii")
