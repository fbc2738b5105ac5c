"""A sheet for the printer alone: what paper shows, without fields, tags, bookmarks and attachments."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pikepdf import Object

OF_A_PAGE = {"/Type", "/Parent", "/MediaBox", "/TrimBox", "/BleedBox", "/Resources", "/Contents"}
OF_THE_CATALOGUE = {"/Type", "/Pages"}


def print_only(content: bytes) -> bytes:
    """The same pages in pixels and text; filled fields are drawn into them."""
    import pikepdf

    with pikepdf.open(BytesIO(content)) as pdf:
        for page in pdf.pages:
            if "/Annots" in page:
                page.Annots = pdf.make_indirect(pikepdf.Array(one for one in page.Annots if _drawn(one)))
        pdf.flatten_annotations("print")
        for page in pdf.pages:
            _strip(page.obj, OF_A_PAGE)
        _strip(pdf.Root, OF_THE_CATALOGUE)
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
