"""The form fields of a PDF (ISO 32000-1, 12.7): full names and values, in the order of the document."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

from traveler.finding import Finding, Place

_DEEPEST = 20
_MOST = 20_000
_VIEWER = "open it in a PDF viewer, save it again, and take that file"


def form_fields(content: bytes, file: str, largest: int) -> list[tuple[str, str]] | Finding:
    """(full name, value) of every field; a ticked box says ``on``, a blank one "".

    Findings: RES002 too large, RES010 not a PDF that can be read, RES011 no fields in it.
    """
    if len(content) > largest:
        what = f"the file has {len(content):,} bytes, at most {largest:,} are read"
        return Finding("RES002", what, Place(file), hint="is this the right file?")
    import pikepdf

    try:
        with pikepdf.open(io.BytesIO(content)) as pdf:
            form = pdf.Root.get("/AcroForm")
            found = list(_walk(form.get("/Fields"), "", 0, set())) if form is not None else []
    except pikepdf.PasswordError:
        return Finding("RES010", "the PDF is locked with a password", Place(file), hint="save it without one")
    except _Odd as problem:
        return Finding("RES010", f"the form {problem}", Place(file), hint=_VIEWER)
    except Exception as problem:  # noqa: BLE001 - a broken file can make the library raise anything
        first = next(iter(str(problem).splitlines()), type(problem).__name__)
        return Finding("RES010", f"this cannot be read as a PDF: {first[:200]}", Place(file), hint=_VIEWER)
    if not found:
        hint = "take the filled file itself, not a print or a scan of it"
        return Finding("RES011", "the PDF has no boxes to read", Place(file), hint=hint)
    return found


class _Odd(Exception):  # noqa: N818 - stops the walk, never leaves this module
    """The form is not one that people fill in."""


def _walk(fields: Any, above: str, depth: int, seen: set[tuple[int, int]]) -> Iterator[tuple[str, str]]:
    """Terminal fields below these; a widget without a name of its own belongs to its parent."""
    if fields is None:
        return
    if depth > _DEEPEST or len(fields) > _MOST:
        raise _Odd("is nested too deep" if depth > _DEEPEST else "has too many boxes")
    for one in fields:
        if "/T" not in one or one.objgen in seen:
            continue
        if one.is_indirect:
            seen.add(one.objgen)
        name = f"{above}.{one.T}" if above else str(one.T)
        kids = one.get("/Kids")
        if kids is not None and any("/T" in kid for kid in kids):
            yield from _walk(kids, name, depth + 1, seen)
        elif one.get("/FT") != "/Sig":
            yield name, _value(one.get("/V"))


def _value(value: Any) -> str:
    """A text as it is; of a tick box ``on``, whatever its state is called, or nothing for ``Off``."""
    import pikepdf

    if value is None:
        return ""
    if isinstance(value, pikepdf.Name):
        return "" if value == pikepdf.Name.Off else "on"
    if isinstance(value, pikepdf.Stream | pikepdf.Dictionary | pikepdf.Array):
        raise _Odd("holds something else than plain text")
    return str(value)
