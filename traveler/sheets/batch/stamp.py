"""Sheets of many units from one render: the template of their kind, stamped with each unit's own texts."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from io import BytesIO

from traveler.finding import Finding
from traveler.sheets.batch.placeholders import (
    QUICK,
    Apart,
    Exchange,
    HoledObject,
    NotStampable,
    PageCode,
    Search,
    exchanged,
    stream,
)
from traveler.sheets.pdf import codes as overlay
from traveler.sheets.pdf import codes as qr
from traveler.sheets.pdf import fonts
from traveler.sheets.pdf.paper import PAPERS
from traveler.sheets.sheet import Sheet, UnitHeader
from traveler.sheets.templates import Templates
from traveler.shop.settings import Settings

PLACEHOLDERS: Mapping[str, str] = {
    "serial": "ZQ7XJ0KVY9WP4HUGM6RC3ENB8DTFSA2L",
    "order": "q7zx0jk4vw",
    "due": "7391-84-62",
    "issued": "6284-93-17",
}
"""Part of a unit's header → what its placeholder is cut from. No order is longer than fits the head."""
SHORTEST = 4
"""Characters below which a placeholder could be met with by chance."""
PLAIN = re.compile(r"[!-~]+(?: [!-~]+)*")
"""What is set letter by letter: printable ASCII, single spaces within."""


def placeholder_header(unit: UnitHeader) -> UnitHeader:
    """The unit's header with a placeholder wherever a value can be stamped; other values stay as they are.

    >>> placeholder_header(UnitHeader("BW8-2648-0012T", order="4471", due="2026-12-24")).order
    'q7zx'
    """
    shown = {name: PLACEHOLDERS[name][: len(text)] for name, text in stamped(unit).items()}
    return UnitHeader(**asdict(unit) | shown)


def stamped(unit: UnitHeader) -> dict[str, str]:
    """Placeholder's name → the unit's own text, for all that is stamped."""
    values = {name: getattr(unit, name) or "" for name in PLACEHOLDERS}
    return {name: text for name, text in values.items() if _stampable(name, text)}


def _stampable(name: str, text: str) -> bool:
    fits = SHORTEST <= len(text) <= len(PLACEHOLDERS[name])
    return fits and PLAIN.fullmatch(text) is not None


def exchange(unit: UnitHeader) -> dict[str, str]:
    """Placeholder → the unit's own text, as it is exchanged on the master of the unit's kind."""
    return {PLACEHOLDERS[name][: len(text)]: text for name, text in stamped(unit).items()}


HEADER = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"
TOGETHER = 200
"""Objects packed into one object stream."""
ENTRY = 7
"""Bytes of an entry in the table: one for its kind, four for a place, two for an index."""
FREE, UNPACKED, PACKED = 0, 1, 2


@dataclass(frozen=True, slots=True)
class SharedPart:
    """The beginning of every file of a kind, and the entries of the table for what lies in it."""

    content: bytes
    table: bytes
    root: int
    info: int
    digest: bytes

    @property
    def size(self) -> int:
        """How many object numbers are given away; the table itself gets this one."""
        return len(self.table) // ENTRY


def shared_part(
    plain: Mapping[int, bytes], streams: Mapping[int, bytes], own: int, root: int, info: int
) -> SharedPart:
    """Writes the shared objects: ``plain`` ones packed together, ``streams`` as they are.

    ``own`` is the highest object number of the units' own objects; ``root`` and ``info`` are the numbers of
    the catalog and of the document's information (0: there is none).
    """
    packs = list(_packs(plain))
    first_pack = max((own, *plain, *streams)) + 1
    table = bytearray(ENTRY * (first_pack + len(packs)))
    table[0:ENTRY] = _entry(FREE, 0, 0xFFFF)
    content, place = [HEADER], len(HEADER)
    numbered = [*sorted(streams.items()), *((first_pack + at, body) for at, (_, body) in enumerate(packs))]
    for number, body in numbered:
        written = numbered_object(number, body)
        _enter(table, number, _entry(UNPACKED, place, 0))
        content.append(written)
        place += len(written)
    for at, (members, _) in enumerate(packs):
        for index, number in enumerate(members):
            _enter(table, number, _entry(PACKED, first_pack + at, index))
    whole = b"".join(content)
    return SharedPart(whole, bytes(table), root, info, hashlib.sha256(whole).digest())


def numbered_object(number: int, body: bytes) -> bytes:
    """An object as it stands in a file."""
    return b"%d 0 obj\n%s\nendobj\n" % (number, body)


def unit_file(shared: SharedPart, own: Mapping[int, HoledObject], exchange: Exchange) -> bytes:
    """The whole file of one unit; its identifier is a hash of its content."""
    content, place, table = [], len(shared.content), bytearray(shared.table)
    for number, template in own.items():
        written = numbered_object(number, template.filled(exchange))
        _enter(table, number, _entry(UNPACKED, place, 0))
        content.append(written)
        place += len(written)
    identifier = hashlib.sha256(b"".join((shared.digest, *content))).hexdigest()[:32].encode("ascii")
    return b"".join((shared.content, *content, _table(shared, table, place, identifier)))


def _packs(plain: Mapping[int, bytes]) -> Iterator[tuple[list[int], bytes]]:
    """The members of each object stream, and the stream."""
    numbers = sorted(plain)
    for start in range(0, len(numbers), TOGETHER):
        members = numbers[start : start + TOGETHER]
        places, place = [], 0
        for number in members:
            places.append(b"%d %d" % (number, place))
            place += len(plain[number]) + 1
        index = b" ".join(places) + b"\n"
        head = b"/Type /ObjStm /N %d /First %d" % (len(members), len(index))
        yield members, stream(head, index + b"\n".join(plain[number] for number in members))


def _table(shared: SharedPart, table: bytearray, place: int, identifier: bytes) -> bytes:
    size = shared.size + 1
    table += _entry(UNPACKED, place, 0)
    head = b"/Type /XRef /Size %d /W [ 1 4 2 ] /Root %d 0 R" % (size, shared.root)
    head += b" /Info %d 0 R" % shared.info if shared.info else b""
    head += b" /ID [ <%s> <%s> ]" % (identifier, identifier)
    body = stream(head, bytes(table), packed=QUICK)
    return numbered_object(size - 1, body) + b"startxref\n%d\n%%%%EOF\n" % place


def _entry(kind: int, place: int, index: int) -> bytes:
    return kind.to_bytes(1, "big") + place.to_bytes(4, "big") + index.to_bytes(2, "big")


def _enter(table: bytearray, number: int, entry: bytes) -> None:
    table[number * ENTRY : (number + 1) * ENTRY] = entry


Render = Callable[[UnitHeader], Sheet]
"""Renders one sheet of a unit; all else about the sheet is settled."""


@dataclass(frozen=True, slots=True)
class StampTemplate:
    """The rendered sheet of a kind of units, taken apart; values only, so it may go to another process.

    ``root`` and ``info`` are the numbers of the catalog and of the document's information (0: it has
    none), ``leaves`` those of the pages in their order.
    """

    face: UnitHeader
    apart: Apart
    root: int
    info: int
    leaves: tuple[int, ...]
    findings: tuple[Finding, ...]

    @property
    def pages(self) -> int:
        """How many pages the sheet has."""
        return len(self.leaves)

    def texts(self, unit: UnitHeader) -> Exchange:
        """Placeholder → text of a unit of this kind.

        Raises:
            ValueError: the unit is of another kind.
        """
        if placeholder_header(unit) != self.face:
            msg = f"{unit.serial} is not of this kind"
            raise ValueError(msg)
        return exchange(unit)

    def own(self, texts: Exchange) -> dict[int, bytes]:
        """The objects that are one unit's own, by number."""
        return {number: holed_object.filled(texts) for number, holed_object in self.apart.own.items()}

    def about(self, texts: Exchange) -> tuple[Finding, ...]:
        """The findings about the sheet of one unit."""
        return tuple(
            replace(finding, what=exchanged(finding.what, texts), hint=exchanged(finding.hint, texts))
            for finding in self.findings
        )


@dataclass(frozen=True, slots=True)
class Master:
    """A kind with its shared part written, ready to be stamped."""

    kind: StampTemplate
    shared: SharedPart

    def stamped(self, unit: UnitHeader) -> Sheet:
        """The sheet of a unit of this kind.

        Raises:
            ValueError: the unit is of another kind.
        """
        texts = self.kind.texts(unit)
        return Sheet(
            unit_file(self.shared, self.kind.apart.own, texts), self.kind.about(texts), self.kind.pages
        )


def master(kind: StampTemplate) -> Master:
    """The master of a kind; it keeps of the kind what stamping needs."""
    apart = kind.apart
    last = max((*apart.own, 0))
    shared = shared_part(apart.plain, apart.streams, last, kind.root, kind.info)
    return Master(replace(kind, apart=Apart({}, {}, apart.own)), shared)


def taken_apart(
    render: Render, unit: UnitHeader, settings: Settings, gtin: str | None, templates: Templates
) -> StampTemplate:
    """The kind of this unit: its sheet, rendered once with placeholders and taken apart.

    Args:
        render: renders the sheet of a unit, with head, corner marks and QR codes.
        unit: one of the units.
        settings: the shop's paper and base URL, as ``render`` uses them.
        gtin: the product's number, as ``render`` uses it.
        templates: as ``render`` uses them.

    Raises:
        NotStampable: the serial is too short or too long, the sheet cannot be printed, or a placeholder
            stands where it cannot be exchanged.
    """
    face, texts = placeholder_header(unit), exchange(unit)
    if face.serial not in texts:
        msg = f"the serial {unit.serial} has not the length or the letters of one that is stamped"
        raise NotStampable(msg)
    sheet = render(face)
    if not sheet.printed:
        msg = "the sheet itself cannot be printed"
        raise NotStampable(msg)
    marks = _marks(face.serial, sheet.pages, settings, gtin, templates)
    search = Search(tuple(texts), fonts.font_face(fonts.FIELD_FONT, templates).glyphs, _face(templates))
    return _kind(sheet, face, search, marks)


def plain_template(sheet: Sheet, unit: UnitHeader) -> StampTemplate:
    """A finished sheet as the kind of its unit alone, with nothing in it to be exchanged."""
    return _kind(sheet, unit, Search((), {}, b""), {})


def _kind(
    sheet: Sheet, face: UnitHeader, search: Search, marks: Mapping[bytes, HoledObject]
) -> StampTemplate:
    import pikepdf

    with pikepdf.open(BytesIO(sheet.pdf)) as pdf:
        apart = search.apart(pdf, marks)
        info = pdf.trailer.get("/Info")
        numbers = pdf.Root.objgen[0], 0 if info is None else info.objgen[0]
        leaves = tuple(page.obj.objgen[0] for page in pdf.pages)
    return StampTemplate(face, apart, *numbers, leaves, sheet.findings)


def _face(templates: Templates) -> bytes:
    return templates.read(f"fonts/{fonts.FIELD_FONT}.ttf")


def _marks(
    serial: str, pages: int, settings: Settings, gtin: str | None, templates: Templates
) -> dict[bytes, HoledObject]:
    """The stream of marks on each page of the master → the template that draws another unit's."""
    paper, address = PAPERS[settings.page_size], qr.qr_address(serial, settings.base_url, gtin)
    made = {}
    for page in range(pages):
        whole = overlay.page_marks(page, address, paper, templates)
        drawn = overlay.qr_code(address.payload(page + 1), paper).encode("ascii")
        before, _, after = whole.partition(drawn)
        code = PageCode(serial, page + 1, settings.base_url, gtin, paper)
        made[whole] = HoledObject((before, code, after), b"")
    return made
