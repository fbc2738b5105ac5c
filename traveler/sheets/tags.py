"""The tag tree put in order (ISO 32000-1, 14.7 and 14.8).

WeasyPrint 70 marks heads and feet as text that hangs outside the tree; here they become artifacts, as
PDF/UA wants page furniture. Heading cells of tables get their scope, and the ids that cells refer to get
their directory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pikepdf import Object, Pdf

ARTIFACT = b"/Artifact\n<</Type /Pagination>>\nBDC"
MARKED = re.compile(rb"/\w+\s+<<\s*/MCID (\d+)\s*>>\s+BDC")


def order_tags(pdf: Pdf, second: str = "") -> None:
    """Bring the tag tree of a freshly written PDF (one stream a page) in order.

    ``second`` is the second language of the sheet: its runs (``twin.py``) are told by it. Without tags the
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
