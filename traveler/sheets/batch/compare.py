"""Whether two files are the same document: everything that can be reached, not where it lies in the file.

Compared from the catalog and the document's information on: page by page the drawing, fonts, fields,
tags, bookmarks, attachments. Free are the numbers and the order of objects, how streams are compressed and
cut, and the file's identifier.
"""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pikepdf import Object

HOW_IT_IS_KEPT = {"/Length", "/Filter", "/DecodeParms"}
Pair = tuple[object, object, str]
"""Two things that should be alike, and the way to them."""


def pdf_difference(content: bytes, other: bytes) -> str | None:
    """The way to the first difference of two PDF files, such as ``/Root/Pages/Kids/0/Contents``.

    None where they are the same document.
    """
    import pikepdf

    with pikepdf.open(BytesIO(content)) as first, pikepdf.open(BytesIO(other)) as second:
        waiting: list[Pair] = [
            (first.Root, second.Root, "/Root"),
            (first.trailer.get("/Info"), second.trailer.get("/Info"), "/Info"),
        ]
        met: set[tuple[object, object]] = set()
        while waiting:
            here, there, way = waiting.pop()
            if (both := _both(here, there)) is not None:
                if both in met:
                    continue
                met.add(both)
            if not _alike(here, there):
                return way
            waiting += _inside(here, there, way)
    return None


def _both(here: object, there: object) -> tuple[object, object] | None:
    """The numbers of a pair of objects that may be met again; None for what is not an object of its own."""
    if not (getattr(here, "is_indirect", False) and getattr(there, "is_indirect", False)):
        return None
    return here.objgen, there.objgen  # type: ignore[attr-defined]


def _alike(here: object, there: object) -> bool:
    """Whether two things are alike, not counting what lies inside them."""
    from pikepdf import Array, Dictionary, Stream

    if isinstance(here, Stream):
        return (
            isinstance(there, Stream) and _facts(here) == _facts(there) and _content(here) == _content(there)
        )
    if isinstance(here, Dictionary):
        return isinstance(there, Dictionary) and set(here.keys()) == set(there.keys())
    if isinstance(here, Array):
        return isinstance(there, Array) and len(here) == len(there)
    return type(here) is type(there) and here == there


def _inside(here: object, there: object, way: str) -> Iterator[Pair]:
    from pikepdf import Array, Dictionary, Stream

    if isinstance(here, Dictionary | Stream):
        drawn = isinstance(here, Dictionary) and here.get("/Type") == "/Page"
        for key in sorted(_facts(here)):
            if drawn and key == "/Contents":
                yield _drawing(here[key]), _drawing(there[key]), way + key  # type: ignore[index]
            else:
                yield here[key], there[key], way + key  # type: ignore[index]
    elif isinstance(here, Array):
        for place, (item, other) in enumerate(zip(here, there, strict=True)):  # type: ignore[call-overload]
            yield item, other, f"{way}/{place}"


def _facts(thing: Object) -> set[str]:
    from pikepdf import Stream

    return set(thing.keys()) - (HOW_IT_IS_KEPT if isinstance(thing, Stream) else set())


def _content(stream: Object) -> bytes:
    from pikepdf import PdfError

    try:
        return bytes(stream.read_bytes())
    except PdfError:  # a photograph stays compressed
        return bytes(stream.read_raw_bytes())


def _drawing(contents: Object) -> bytes:
    """All that is drawn on a page, in one stream, whatever it was cut into."""
    from pikepdf import Array

    parts = contents if isinstance(contents, Array) else [contents]
    return b" ".join(b"\n".join(part.read_bytes() for part in parts).split())
