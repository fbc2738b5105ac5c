"""A chain as a text file: one entry on each line, byte for byte what its hash covers; and back.

The hash of line N is what line N + 1 names as ``previous``; that of the last one is the head.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import replace

from traveler.finding import Finding, Place
from traveler.record.chain import GENESIS, digest, document
from traveler.record.kept import Kept, canonical, to_entry
from traveler.record.trouble import StoreTrouble

_KEYS = {"at": str, "body": dict, "by": str, "previous": str, "recorded": str, "seq": int, "source": str}
_ALSO = {"slot": str, "unit": str, "zone": str}
_WHY = "a record that was changed after it was written proves nothing"
_HINT = "ask for the bag again, and compare its head with the certificate"


def entry_lines(rows: Iterable[Kept]) -> bytes:
    """The rows as lines, each as it is hashed.

    Raises:
        NotKept: a row holds bytes that are no text.
    """
    return b"".join(document(row) + b"\n" for row in rows)


def read_entry_lines(content: bytes, file: str) -> tuple[tuple[Kept, ...], list[Finding]]:
    """The rows of a file of lines; none, and what is wrong with each line, where anything is.

    Findings: BAG006 a line that is no entry, BAG007 an entry that does not follow the one before it.
    """
    rows: list[Kept] = []
    findings: list[Finding] = []
    previous = GENESIS
    for number, raw in enumerate(_lines(content), start=1):
        row = _row(raw)
        if row is None:
            what = "this line is no entry as it is hashed (RFC 8785 JSON, with every part of an entry)"
            findings.append(Finding("BAG006", what, Place(file, number), why=_WHY, hint=_HINT))
            continue
        if row.seq != number or row.previous != previous or (rows and row.unit != rows[0].unit):
            what = f"entry #{row.seq} of {row.unit} does not follow the line before it"
            findings.append(Finding("BAG007", what, Place(file, number), why=_WHY, hint=_HINT))
        rows.append(row)
        previous = row.hash
    if not rows and not findings:
        findings.append(Finding("BAG006", "there is no entry in it", Place(file), why=_WHY, hint=_HINT))
    return ((), findings) if findings else (tuple(rows), [])


def _lines(content: bytes) -> Iterator[bytes]:
    whole = content.split(b"\n")
    yield from whole[:-1] if whole[-1] == b"" else whole


def _row(raw: bytes) -> Kept | None:
    """The row whose hashed text these bytes are; None where they are none."""
    try:
        read = json.loads(raw)
    except (ValueError, RecursionError):
        return None
    if not isinstance(read, dict) or not _shaped(read):
        return None
    try:
        open_row = Kept(
            unit=read["unit"], seq=read["seq"], at=read["at"], recorded=read["recorded"], by=read["by"],
            slot=read.get("slot"), zone=read.get("zone"), source=read["source"], kind=read["body"]["kind"],
            body=canonical(read["body"]), previous=read["previous"], hash="",
        )  # fmt: skip
        row = replace(open_row, hash=digest(open_row))
        kind = to_entry(row).body.kind
        return row if document(row) == raw and kind == row.kind else None
    except (StoreTrouble, RecursionError, UnicodeError):
        return None


def _shaped(read: dict[str, object]) -> bool:
    known = {**_KEYS, **_ALSO}
    needed = {*_KEYS, "unit"}
    body = read.get("body")
    return (
        needed <= set(read) <= set(known)
        and all(type(value) is known[key] for key, value in read.items())
        and isinstance(body, dict)
        and isinstance(body.get("kind"), str)
    )
