"""A freshly written PDF made ready: form fields, tags; or a flat copy for the printer alone."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING

from traveler.sheets.pdf import fonts
from traveler.sheets.pdf.fonts import FIELD_FONT_NAME, embed_whole, field_font
from traveler.sheets.templates import Templates
from traveler.sheets.views.boxes import Box, Form

if TYPE_CHECKING:
    from pikepdf import Dictionary, Object, Pdf, Stream

ARTIFACT = b"/Artifact\n<</Type /Pagination>>\nBDC"
MARKED = re.compile(rb"/\w+\s+<<\s*/MCID (\d+)\s*>>\s+BDC")


def order_tags(pdf: Pdf, second: str = "") -> None:
    """Bring the tag tree of a freshly written PDF (one stream a page) in order.

    ``second`` is the second language of the sheet: its runs are recognized by it. Without tags the
    file stays as it is.
    """
    root = pdf.Root.get("/StructTreeRoot")
    if root is None:
        return
    elements = list(walk(root.K[0]))
    reached = {element.objgen for element in elements}
    numbers = _numbers(root.ParentTree)
    for page in pdf.pages:
        _furniture(page.obj, numbers[int(page.StructParents)], reached)
    _scopes(elements)
    _languages(elements, second)
    _directory(pdf, root, elements)


def walk(element: Object) -> Iterator[Object]:
    """The structure elements below and with this one, in reading order."""
    from pikepdf import Array, Dictionary

    yield element
    kids = element.get("/K", ())
    for kid in kids if isinstance(kids, Array) else (kids,):
        if isinstance(kid, Dictionary) and kid.get("/Type") == "/StructElem":
            yield from walk(kid)


def _numbers(tree: Object) -> dict[int, Object]:
    return {int(tree.Nums[place]): tree.Nums[place + 1] for place in range(0, len(tree.Nums), 2)}


def _furniture(page: Object, parents: Object, reached: set[tuple[int, int]]) -> None:
    lost = {place for place, parent in enumerate(parents) if parent is None or parent.objgen not in reached}

    def mend(match: re.Match[bytes]) -> bytes:
        return ARTIFACT if int(match[1]) in lost else match[0]

    page.Contents.write(MARKED.sub(mend, page.Contents.read_bytes()))
    for place in sorted(lost):
        parents[place] = None


def _scopes(elements: list[Object]) -> None:
    from pikepdf import Name

    for element in elements:
        if element.S == "/TH" and "/A" in element:
            head = element.P.P.S == "/THead"
            element.A.Scope = Name.Column if head else Name.Row


def _languages(elements: list[Object], second: str) -> None:
    """Runs in the second language: written as links, which the sheets have none of, they become spans."""
    from pikepdf import Name, String

    for element in elements:
        if second and element.S == "/Link":
            element.S, element.Lang = Name.Span, String(second)


def _directory(pdf: Pdf, root: Object, elements: list[Object]) -> None:
    from pikepdf import Array, Dictionary

    named = sorted((bytes(element.ID), element) for element in elements if "/ID" in element)
    if not named:
        return
    flat = [part for name, element in named for part in (name, element)]
    limits = Array([named[0][0], named[-1][0]])
    leaf = pdf.make_indirect(Dictionary(Names=Array(flat), Limits=limits))
    root.IDTree = pdf.make_indirect(Dictionary(Kids=Array([leaf])))


READ_ONLY = 1
PRINT = 4
PADDING = 2.0
"""Points between the frame and the text of a filled field."""


@dataclass(slots=True)
class FieldMaker:
    """Makes the fields of one PDF; appearances that are alike are shared."""

    pdf: Pdf
    face: fonts.Face
    font: Object
    shared: dict[tuple[str, int, int], Object]

    def widget(self, annotation: Object, box: Box) -> None:
        """Bring one widget in order: rectangle, flags, appearance."""
        from pikepdf import Array, Dictionary, Name

        left, bottom, right, top = _rectangle(annotation)
        annotation.Rect = Array([left, bottom, right, top])
        annotation.F = PRINT
        for key in ("/MK", "/Border", "/AS", "/AP", "/V", "/DA"):
            if key in annotation:
                del annotation[key]
        if box.tick:
            states = Dictionary(on=self._tick(right - left, top - bottom), Off=self._empty())
            annotation.AP = Dictionary(N=states)
            annotation.AS = Name.Off
        else:
            annotation.AP = Dictionary(
                N=self._written(box.value, right - left, top - bottom, self._size(box))
            )

    def facts(self, field: Object, box: Box) -> None:
        """The entries that belong to a field rather than to one of its widgets."""
        from pikepdf import Name, String

        field.T = String(box.name)
        field.TU = String(box.title)
        field.FT = Name.Btn if box.tick else Name.Tx
        flags = READ_ONLY if box.read_only else 0
        if flags:
            field.Ff = flags
        if box.tick:
            field.V = Name.Off
            return
        field.DA = String(f"/{FIELD_FONT_NAME} {self._size(box)} Tf 0 g")
        field.MaxLen = max(box.limit, len(box.value))
        if box.value:
            field.V = String(box.value)

    def _size(self, box: Box) -> float:
        return 9.5 if box.shape in {"fact", "line"} else 11

    def _stream(self, content: bytes, width: float, height: float, *, lettered: bool = False) -> Object:
        from pikepdf import Array, Dictionary, Name, Stream

        made: Stream = Stream(self.pdf, content)
        made.Type, made.Subtype = Name.XObject, Name.Form
        made.BBox = Array([0, 0, round(width, 3), round(height, 3)])
        made.Resources = (
            Dictionary(Font=Dictionary({f"/{FIELD_FONT_NAME}": self.font})) if lettered else Dictionary()
        )
        return self.pdf.make_indirect(made)

    def _empty(self) -> Object:
        if ("empty", 0, 0) not in self.shared:
            self.shared["empty", 0, 0] = self._stream(b"", 1, 1)
        return self.shared["empty", 0, 0]

    def _tick(self, width: float, height: float) -> Object:
        key = ("tick", round(width * 100), round(height * 100))
        if key not in self.shared:
            points = [(0.16, 0.52), (0.40, 0.20), (0.86, 0.84)]
            path = " ".join(
                f"{x * width:.2f} {y * height:.2f} {'m' if number == 0 else 'l'}"
                for number, (x, y) in enumerate(points)
            )
            self.shared[key] = self._stream(
                f"q 0 G {width * 0.12:.2f} w 1 J 1 j {path} S Q".encode("ascii"), width, height
            )
        return self.shared[key]

    def _written(self, text: str, width: float, height: float, size: float) -> Object:
        """The text on one line, smaller where it would not fit."""
        if not text:
            return self._empty()
        size = round(min(size, (width - 2 * PADDING) * 1000 / self.face.width(text)), 2)
        encoded = text.encode("cp1252", errors="replace").hex()
        base = (height - size * 0.73) / 2
        drawn = f"0 g /{FIELD_FONT_NAME} {size} Tf {PADDING} {base:.3f} Td <{encoded}> Tj"
        return self._stream(f"/Tx BMC q BT {drawn} ET Q EMC".encode("ascii"), width, height, lettered=True)


class TemplateFault(Exception):
    """A template (of the shop) shows other boxes than the view asks for."""


def order_form(pdf: Pdf, form: Form, templates: Templates) -> None:
    """Rebuild the form of a PDF from the boxes of its sheet.

    Raises:
        TemplateFault: the page shows a field that no view made, or lacks one.
    """
    from pikepdf import Array, Dictionary, String

    placed = _widgets(pdf)
    _compare(set(placed), set(form.boxes))
    if not placed:
        return
    maker = FieldMaker(pdf, fonts.font_face(fonts.FIELD_FONT, templates), field_font(pdf, templates), {})
    embed_whole(pdf, maker.font.FontDescriptor.FontFile2, templates)
    fields = [_field(maker, form.boxes[name], placed[name]) for name in placed]
    resources = Dictionary(Font=Dictionary({f"/{FIELD_FONT_NAME}": maker.font}))
    pdf.Root.AcroForm = pdf.make_indirect(
        Dictionary(Fields=Array(fields), DR=resources, DA=String(f"/{FIELD_FONT_NAME} 11 Tf 0 g"))
    )


def _field(maker: FieldMaker, box: Box, widgets: list[Object]) -> Object:
    from pikepdf import Array, Dictionary

    for widget in widgets:
        maker.widget(widget, box)
    if len(widgets) == 1:
        maker.facts(widgets[0], box)
        return widgets[0]
    field = maker.pdf.make_indirect(Dictionary(Kids=Array(widgets)))
    maker.facts(field, box)
    for widget in widgets:
        for key in ("/T", "/TU", "/FT", "/Ff", "/MaxLen"):
            if key in widget:
                del widget[key]
        widget.Parent = field
    return field


def _widgets(pdf: Pdf) -> dict[str, list[Object]]:
    placed: dict[str, list[Object]] = {}
    for page in pdf.pages:
        for annotation in page.get("/Annots", ()):
            if annotation.get("/Subtype") == "/Widget":
                placed.setdefault(str(annotation.T), []).append(annotation)
    return placed


def _compare(placed: set[str], wanted: set[str]) -> None:
    if placed != wanted:
        msg = f"boxes without a view: {sorted(placed - wanted)}; not on the page: {sorted(wanted - placed)}"
        raise TemplateFault(msg)


def _rectangle(annotation: Dictionary | Object) -> tuple[float, float, float, float]:
    first, two, three, four = (round(float(number), 3) for number in annotation.Rect)
    return min(first, three), min(two, four), max(first, three), max(two, four)


OF_A_PAGE = {"/Type", "/Parent", "/MediaBox", "/TrimBox", "/BleedBox", "/Resources", "/Contents"}
OF_THE_CATALOG = {"/Type", "/Pages"}


def print_only(content: bytes) -> bytes:
    """The same pages in pixels and text; filled fields are drawn into them."""
    import pikepdf

    with pikepdf.open(BytesIO(content)) as pdf:
        for page in pdf.pages:
            if "/Annots" in page:
                page.Annots = pdf.make_indirect(
                    pikepdf.Array(annot for annot in page.Annots if _drawn(annot))
                )
        pdf.flatten_annotations("print")
        for page in pdf.pages:
            _strip(page.obj, OF_A_PAGE)
        _strip(pdf.Root, OF_THE_CATALOG)
        del pdf.docinfo
        out = BytesIO()
        pdf.save(out, deterministic_id=True)
    return out.getvalue()


def _drawn(annotation: Object) -> bool:
    """Whether something is written in the field."""
    from pikepdf import Stream

    shown = annotation.AP.N if "/AP" in annotation else None
    if shown is not None and not isinstance(shown, Stream):
        shown = shown.get(str(annotation.get("/AS", "/Off")))
    return isinstance(shown, Stream) and bool(shown.read_bytes().strip())


def _strip(thing: Object, kept: set[str]) -> None:
    for key in set(thing.keys()) - kept:
        del thing[key]
