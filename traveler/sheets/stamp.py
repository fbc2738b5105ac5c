"""Sheets of many units from one render: the master of their kind, stamped with what is each unit's own.

Rendering a traveler takes about a second, stamping one a few milliseconds. The stamped file is what a
render would have given: the same pages, text, fields, tags and attachments; only its objects lie in another
order. Rendering stays the oracle: :func:`traveler.sheets.stamp_equal.difference` compares the two.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from io import BytesIO

from traveler.finding import Finding
from traveler.sheets import fonts, overlay, qr
from traveler.sheets.paper import PAPERS
from traveler.sheets.resources import Templates
from traveler.sheets.sheet import Sheet, UnitFace
from traveler.sheets.stamp_equal import difference
from traveler.sheets.stamp_file import SharedPart, shared_part, unit_file
from traveler.sheets.stamp_holes import Code, Exchange, Template, exchanged
from traveler.sheets.stamp_search import Apart, NotStampable, Search
from traveler.sheets.stamp_values import exchange, kind_of
from traveler.shop.settings import Settings

Render = Callable[[UnitFace], Sheet]
"""Renders one sheet of a unit; all else about the sheet is settled."""


@dataclass(frozen=True, slots=True)
class Kind:
    """The rendered sheet of a kind of units, taken apart; values only, so it may go to another process.

    ``root`` and ``info`` are the numbers of the catalogue and of the document's information (0: it has
    none), ``leaves`` those of the pages in their order.
    """

    face: UnitFace
    apart: Apart
    root: int
    info: int
    leaves: tuple[int, ...]
    findings: tuple[Finding, ...]

    @property
    def pages(self) -> int:
        """How many pages the sheet has."""
        return len(self.leaves)

    def texts(self, unit: UnitFace) -> Exchange:
        """Placeholder → text of a unit of this kind.

        Raises:
            ValueError: the unit is of another kind.
        """
        if kind_of(unit) != self.face:
            msg = f"{unit.serial} is not of this kind"
            raise ValueError(msg)
        return exchange(unit)

    def own(self, texts: Exchange) -> dict[int, bytes]:
        """The objects that are one unit's own, by number."""
        return {number: one.filled(texts) for number, one in self.apart.own.items()}

    def about(self, texts: Exchange) -> tuple[Finding, ...]:
        """The findings about the sheet of one unit."""
        return tuple(
            replace(one, what=exchanged(one.what, texts), hint=exchanged(one.hint, texts))
            for one in self.findings
        )


@dataclass(frozen=True, slots=True)
class Master:
    """A kind with its shared part written, ready to be stamped."""

    kind: Kind
    shared: SharedPart

    def stamped(self, unit: UnitFace) -> Sheet:
        """The sheet of a unit of this kind.

        Raises:
            ValueError: the unit is of another kind.
        """
        texts = self.kind.texts(unit)
        return Sheet(
            unit_file(self.shared, self.kind.apart.own, texts), self.kind.about(texts), self.kind.pages
        )


def master(kind: Kind) -> Master:
    """The master of a kind; it keeps of the kind what stamping needs."""
    apart = kind.apart
    last = max((*apart.own, 0))
    shared = shared_part(apart.plain, apart.streams, last, kind.root, kind.info)
    return Master(replace(kind, apart=Apart({}, {}, apart.own)), shared)


def taken_apart(
    render: Render, unit: UnitFace, settings: Settings, gtin: str | None, shelves: Templates
) -> Kind:
    """The kind of this unit: its sheet, rendered once with placeholders and taken apart.

    Args:
        render: renders the sheet of a unit, with head, corner marks and QR codes.
        unit: one of the units.
        settings: the shop's paper and base URL, as ``render`` uses them.
        gtin: the product's number, as ``render`` uses it.
        shelves: the templates, as ``render`` uses them.

    Raises:
        NotStampable: the serial is too short or too long, the sheet cannot be printed, or a placeholder
            stands where it cannot be exchanged.
    """
    face, texts = kind_of(unit), exchange(unit)
    if face.serial not in texts:
        msg = f"the serial {unit.serial} has not the length or the letters of one that is stamped"
        raise NotStampable(msg)
    sheet = render(face)
    if not sheet.printed:
        msg = "the sheet itself cannot be printed"
        raise NotStampable(msg)
    marks = _marks(face.serial, sheet.pages, settings, gtin, shelves)
    search = Search(tuple(texts), fonts.face(fonts.FIELD_FONT, shelves).glyphs, _face(shelves))
    return _kind(sheet, face, search, marks)


def plain_kind(sheet: Sheet, unit: UnitFace) -> Kind:
    """A finished sheet as the kind of its unit alone, with nothing in it to be exchanged."""
    return _kind(sheet, unit, Search((), {}, b""), {})


def _kind(sheet: Sheet, face: UnitFace, search: Search, marks: Mapping[bytes, Template]) -> Kind:
    import pikepdf

    with pikepdf.open(BytesIO(sheet.pdf)) as pdf:
        apart = search.apart(pdf, marks)
        info = pdf.trailer.get("/Info")
        numbers = pdf.Root.objgen[0], 0 if info is None else info.objgen[0]
        leaves = tuple(page.obj.objgen[0] for page in pdf.pages)
    return Kind(face, apart, *numbers, leaves, sheet.findings)


def stamping_fault(kind: Kind, render: Render, unit: UnitFace) -> str | None:
    """Where the stamped sheet of a unit differs from its rendered one; None where they are the same."""
    return difference(master(kind).stamped(unit).pdf, render(unit).pdf)


def _face(shelves: Templates) -> bytes:
    return shelves.read(f"fonts/{fonts.FIELD_FONT}.ttf")


def _marks(
    serial: str, pages: int, settings: Settings, gtin: str | None, shelves: Templates
) -> dict[bytes, Template]:
    """The stream of marks on each page of the master → the template that draws another unit's."""
    paper, address = PAPERS[settings.page_size], qr.address(serial, settings.base_url, gtin)
    made = {}
    for page in range(pages):
        whole = overlay.page_marks(page, address, paper, shelves)
        drawn = overlay.qr_code(address.payload(page + 1), paper).encode("ascii")
        before, _, after = whole.partition(drawn)
        code = Code(serial, page + 1, settings.base_url, gtin, paper)
        made[whole] = Template((before, code, after), b"")
    return made
