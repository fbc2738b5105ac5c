"""The last pass over a written PDF.

Form, tags, marks on every page, and bytes that depend on the content alone.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from traveler.sheets import overlay
from traveler.sheets.form import order_form
from traveler.sheets.tags import order_tags

if TYPE_CHECKING:
    from pikepdf import Pdf

    from traveler.sheets.finish import Request
    from traveler.sheets.sheet import Printing


def put_in_order(raw: bytes, request: Request, printing: Printing) -> bytes:
    """The finished file.

    Its identifier is a hash of its content, so the same content gives the same bytes.
    """
    import pikepdf

    with pikepdf.open(BytesIO(raw)) as pdf:
        order_form(pdf, request.form, printing.templates)
        order_tags(pdf, printing.languages[1] if printing.paired else "")
        _attached_once(pdf)
        if request.address is not None:
            overlay.mark_pages(pdf, request.address, request.paper or printing.paper, printing.templates)
        out = BytesIO()
        pdf.save(out, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return out.getvalue()


def _attached_once(pdf: Pdf) -> None:
    """WeasyPrint lists an associated file twice."""
    from pikepdf import Array

    if "/AF" in pdf.Root:
        pdf.Root.AF = Array({one.objgen: one for one in pdf.Root.AF}.values())
