"""The last pass over a written PDF: form, tags, marks on every page, and bytes that depend on the content alone."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from traveler.sheets.finish import Request
    from traveler.sheets.sheet import Printing


def put_in_order(raw: bytes, request: Request, printing: Printing) -> bytes:
    """The finished file."""
    import pikepdf

    from traveler.sheets import overlay

    with pikepdf.open(BytesIO(raw)) as pdf:
        overlay.mark_pages(pdf, request.address, request.paper or printing.paper, printing.templates)
        out = BytesIO()
        pdf.save(out, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return out.getvalue()
