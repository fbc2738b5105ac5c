"""The form put in order: what WeasyPrint writes is not yet what every reader fills in the same way.

Measured on WeasyPrint 70: text fields without appearance and a flag that asks the viewer to make one
(which PDF/A forbids), no read-only flag, tick boxes without an empty state, upside-down rectangles, and
one name in two places makes two fields. Here each field gets flags, length, tooltip, an appearance of its
own, and one simple embedded font.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from traveler.sheets import fonts
from traveler.sheets.boxes import Box, Form
from traveler.sheets.field_font import FIELD_FONT_NAME, field_font
from traveler.sheets.resources import Templates
from traveler.sheets.whole_face import embed_whole

if TYPE_CHECKING:
    from pikepdf import Dictionary, Object, Pdf, Stream

READ_ONLY = 1
PRINT = 4
SIZE = re.compile(rb"([\d.]+) Tf")
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


class TemplateFault(Exception):  # noqa: N818 - it is told to a person as a finding
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
    maker = FieldMaker(pdf, fonts.face(fonts.FIELD_FONT, templates), field_font(pdf, templates), {})
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
    one, two, three, four = (round(float(number), 3) for number in annotation.Rect)
    return min(one, three), min(two, four), max(one, three), max(two, four)
