"""Many units' sheets in one PDF for the printer, written as it grows."""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import BinaryIO

from traveler.sheets.batch.stamp import HEADER, StampTemplate, numbered_object
from traveler.sheets.pdf.paper import POINTS_PER_MM, Paper

REFERENCE = re.compile(rb"(\((?:\\.|[^\\()])*\))|\b(\d+) 0 R\b")
"""A string, inside which nothing is a reference, or a reference."""
CONTENT = b"\nstream\n"
"""Between the dictionary of a stream and its content, which refers to nothing."""


def object_references(body: bytes) -> set[int]:
    """The numbers of the objects that this one refers to."""
    head, _, _ = body.partition(CONTENT)
    return {int(match[2]) for match in REFERENCE.finditer(head) if match[2] is not None}


def renumbered(body: bytes, numbers: Mapping[int, int]) -> bytes:
    """The object with its references renumbered.

    Raises:
        KeyError: it refers to an object that ``numbers`` does not name.
    """

    def reference(match: re.Match[bytes]) -> bytes:
        return match[0] if match[2] is None else b"%d 0 R" % numbers[int(match[2])]

    head, between, content = body.partition(CONTENT)
    return REFERENCE.sub(reference, head) + between + content


CATALOG, PAGES, OUTLINES, FACTS = 1, 2, 3, 4
"""Numbers of the objects that are written last, when all units are known."""
PARENT = re.compile(rb" /Parent \d+ 0 R")
ABOVE = (b"/Type /Catalog", b"/Type /Pages")


@dataclass(frozen=True, slots=True)
class Laid:
    """A kind whose shared objects are in the file.

    ``numbers``: their numbers in the kind → in the file. ``repeated``: the bodies of those that each unit
    has for itself, because they are pages or lead to something of its own. ``leaves``: the pages.
    """

    numbers: Mapping[int, int]
    repeated: Mapping[int, bytes]
    leaves: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Bundle:
    """The pages of one unit in the file: its serial, the first page (from 1), how many, and the objects."""

    serial: str
    start: int
    pages: int
    node: int
    first: int


@dataclass(slots=True)
class CollatedFile:
    """One PDF of many units, in the order in which they are added; :meth:`close` finishes it.

    ``paper`` is that of blank pages. ``duplex``: every unit starts on a new leaf of paper, a blank page
    fills its last one if need be.
    """

    file: BinaryIO
    paper: Paper
    title: str
    duplex: bool = False
    bundles: list[Bundle] = field(default_factory=list)
    places: array[int] = field(default_factory=lambda: array("Q", [0] * (FACTS + 1)))
    """Number of an object → where it lies in the file."""
    written: int = 0

    def __post_init__(self) -> None:
        self._put(HEADER)

    @property
    def pages(self) -> int:
        """How many pages were added, blank ones too."""
        return self.bundles[-1].start + self.bundles[-1].pages - 1 if self.bundles else 0

    def lay(self, kind: StampTemplate) -> Laid:
        """Writes what all units of a kind share."""
        plain = {number: body for number, body in kind.apart.plain.items() if not _above(body)}
        plain |= {leaf: PARENT.sub(b"", plain[leaf]) for leaf in kind.leaves}
        repeated = _repeated(kind, plain)
        shared = {**plain, **kind.apart.streams}
        numbers = {number: self._number() for number in shared if number not in repeated}
        for number, own in numbers.items():
            self._object(own, renumbered(shared[number], numbers))
        return Laid(numbers, repeated, kind.leaves)

    def add(self, laid: Laid, serial: str, own: Mapping[int, bytes]) -> None:
        """Writes the pages of one unit; ``own``: its own objects, by the numbers they have in the kind."""
        node = self._number()
        numbers = {**laid.numbers, **{number: self._number() for number in (*own, *laid.repeated)}}
        for number, body in (*own.items(), *laid.repeated.items()):
            made = renumbered(body, numbers)
            if number in laid.leaves:
                made = b"<< /Parent %d 0 R" % node + made.removeprefix(b"<<")
            self._object(numbers[number], made)
        pages = [numbers[leaf] for leaf in laid.leaves]
        if self.duplex and len(pages) % 2:
            pages.append(self._blank(node))
        self._node(node, PAGES, pages, len(pages))
        self.bundles.append(Bundle(serial, self.pages + 1, len(pages), node, pages[0]))

    def close(self) -> None:
        """Writes the catalog, the bookmarks and the table of objects."""
        self._node(PAGES, None, [bundle.node for bundle in self.bundles], self.pages)
        self._bookmarks()
        title = _string(self.title)
        self._object(FACTS, b"<< /Title %s /Creator (traveler) >>" % title)
        shown = b"/ViewerPreferences << /DisplayDocTitle true >>"
        root = b"<< /Type /Catalog /Pages %d 0 R /Outlines %d 0 R %s >>" % (PAGES, OUTLINES, shown)
        self._object(CATALOG, root)
        place = self.written
        self._put(b"xref\n0 %d\n0000000000 65535 f \n" % len(self.places))
        for lies in self.places[1:]:
            self._put(b"%010d 00000 n \n" % lies)
        trailer = b"trailer\n<< /Size %d /Root %d 0 R /Info %d 0 R >>\nstartxref\n%d\n%%%%EOF\n"
        self._put(trailer % (len(self.places), CATALOG, FACTS, place))

    def _bookmarks(self) -> None:
        items = [self._number() for _ in self.bundles]
        for at, (number, bundle) in enumerate(zip(items, self.bundles, strict=True)):
            beside = b" /Prev %d 0 R" % items[at - 1] if at else b""
            beside += b" /Next %d 0 R" % items[at + 1] if at + 1 < len(items) else b""
            here = (_string(bundle.serial), OUTLINES, bundle.first, beside)
            self._object(number, b"<< /Title %s /Parent %d 0 R /Dest [ %d 0 R /Fit ]%s >>" % here)
        ends = (items[0], items[-1], len(items))
        self._object(OUTLINES, b"<< /Type /Outlines /First %d 0 R /Last %d 0 R /Count %d >>" % ends)

    def _blank(self, node: int) -> int:
        number, (wide, high) = self._number(), (self.paper.width, self.paper.height)
        size = (node, wide * POINTS_PER_MM, high * POINTS_PER_MM)
        self._object(
            number, b"<< /Type /Page /Parent %d 0 R /MediaBox [ 0 0 %.4f %.4f ] /Resources << >> >>" % size
        )
        return number

    def _node(self, number: int, parent: int | None, kids: Iterable[int], count: int) -> None:
        above = b"" if parent is None else b" /Parent %d 0 R" % parent
        listed = b" ".join(b"%d 0 R" % kid for kid in kids)
        self._object(number, b"<< /Type /Pages%s /Kids [ %s ] /Count %d >>" % (above, listed, count))

    def _number(self) -> int:
        self.places.append(0)
        return len(self.places) - 1

    def _object(self, number: int, body: bytes) -> None:
        self.places[number] = self.written
        self._put(numbered_object(number, body))

    def _put(self, content: bytes) -> None:
        self.file.write(content)
        self.written += len(content)


def _above(body: bytes) -> bool:
    return any(name in body for name in ABOVE)


def _repeated(kind: StampTemplate, plain: Mapping[int, bytes]) -> dict[int, bytes]:
    """The objects that each unit must have for itself: pages, and what leads to something of its own."""
    reached = {*kind.apart.own, *kind.leaves}
    leading = {number: object_references(body) for number, body in plain.items()}
    while more := {
        number for number, others in leading.items() if number not in reached and others & reached
    }:
        reached |= more
    return {number: plain[number] for number in sorted(reached - kind.apart.own.keys())}


def _string(text: str) -> bytes:
    from pikepdf import String

    return bytes(String(text).unparse())
