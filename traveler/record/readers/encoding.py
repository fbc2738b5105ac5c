"""From bytes to text: UTF-8, or UTF-16 with its mark, as spreadsheets write it. Nothing is guessed."""

from __future__ import annotations

import codecs

from traveler.finding import Finding, Place

_MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_HINT = "save it as 'CSV UTF-8', or as plain text in UTF-8"


def decode(content: bytes, file: str, largest: int) -> str | Finding:
    """The text of a file.

    Findings: RES001 not text in UTF-8 (with line and column of the first byte that is not), RES002 too large.
    """
    if len(content) > largest:
        what = f"the file has {len(content):,} bytes, at most {largest:,} are read"
        return Finding("RES002", what, Place(file, 1, 1), hint="is this the right file?")
    name = next((name for mark, name in _MARKS if content.startswith(mark)), "utf-8")
    try:
        return content.decode(name)
    except UnicodeDecodeError as problem:
        before = content[: problem.start].decode(name, errors="replace")
        line, column = before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1
        what = f"byte {content[problem.start]:#04x} is not text in {name.removesuffix('-sig').upper()}"
        return Finding("RES001", what, Place(file, line, column), hint=_HINT)
