"""The chain: each entry of a unit carries the hash of the entry before it; chains as text files."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime
from json.encoder import encode_basestring

from traveler.finding import Finding, Place
from traveler.record.entry import Draft, Entry
from traveler.record.errors import NotStorable, StoreError
from traveler.record.stored import StoredRow, canonical_json, stored_row, time_text, to_entry

GENESIS = "0" * 64
"""What the first entry of a unit names as the one before it."""

_HINT = "restore a backup beside this store and compare the two"


def hashed_bytes(row: StoredRow) -> bytes:
    """What is hashed: RFC 8785 JSON of the entry, without its hash and without what is not there.

    The body's text goes in as it is stored, byte for byte; the keys are in RFC 8785 order.

    Raises:
        NotStorable: a text in it is not Unicode.
    """
    rest = {
        "at": row.at, "by": row.by, "previous": row.previous, "recorded": row.recorded, "seq": row.seq,
        "slot": row.slot, "source": row.source, "unit": row.unit, "zone": row.zone,
    }  # fmt: skip
    parts = [f'"{key}":{_json(value)}' for key, value in rest.items() if value is not None]
    try:
        return f'{{{parts[0]},"body":{row.body},{",".join(parts[1:])}}}'.encode()
    except UnicodeEncodeError as problem:
        what = f"entry #{row.seq} of {row.unit} holds bytes that are no text"
        raise NotStorable(what, "restore a backup") from problem


def _json(value: object) -> str:
    """RFC 8785 JSON of a column.

    A text goes the short way, which a store of millions of entries needs: the standard library escapes what
    RFC 8785 (section 3.2.2.2) escapes and nothing else; what is not Unicode is refused when it is encoded.
    """
    if type(value) is str:
        return encode_basestring(value)
    return str(value) if type(value) is int and 0 <= value < 2**53 else canonical_json(value)


def entry_hash(row: StoredRow) -> str:
    """The hash of an entry, 64 hex digits."""
    return hashlib.sha256(hashed_bytes(row)).hexdigest()


def link_row(draft: Draft, seq: int, previous: str, recorded: datetime) -> StoredRow:
    """The row of a draft that becomes entry ``seq`` after the entry whose hash is ``previous``.

    Raises:
        NotStorable: something in the draft has no exact stored form.
    """
    open_row = stored_row(draft, seq, time_text(recorded), previous)
    return replace(open_row, hash=entry_hash(open_row))


def verify_rows(
    rows: Iterable[StoredRow], *, head: str | None = None, count: int | None = None, unit: str | None = None,
    entries: Iterable[Entry] | None = None,
) -> list[Finding]:  # fmt: skip
    """What is wrong with a unit's rows, given in the order of ``seq``; an empty list if nothing.

    ``head`` and ``count`` are those noted elsewhere, ``count`` entries ending in ``head``; entries written
    after them are no finding. ``entries`` are the rows as entries, where the caller has read them already.
    Codes: CHN001 altered, CHN002 missing or out of order, CHN003 tail cut,
    CHN004 of another unit, CHN005 the noted head is not in the chain.
    """
    findings: list[Finding] = []
    previous, expected, reached = GENESIS, 1, None
    read = iter(entries) if entries is not None else None
    for row in rows:
        findings += _check(row, expected, previous, unit, next(read, None) if read is not None else None)
        unit = unit or row.unit
        if row.seq == count:
            reached = row.hash
        previous, expected = row.hash, (row.seq if isinstance(row.seq, int) else expected) + 1
    last = expected - 1
    if count is not None and last < count:
        what = f"the last {count - last} of {count} entries are missing"
        findings.append(_finding("CHN003", what, unit, last + 1))
    elif head is not None and count and reached != head:
        what = f"entry #{count} ends in {reached or 'nothing'}, but the noted head is {head}"
        findings.append(_finding("CHN005", what, unit, count))
    return findings


def _check(
    row: StoredRow, expected: int, previous: str, unit: str | None, entry: Entry | None
) -> Iterator[Finding]:
    if unit is not None and row.unit != unit:
        yield _finding("CHN004", f"this entry belongs to {row.unit}, not to {unit}", unit, row.seq)
    if row.seq != expected:
        yield _finding("CHN002", f"entry #{row.seq} stands where #{expected} is expected", row.unit, row.seq)
    elif row.previous != previous:
        what = f"entry #{row.seq} follows another entry than the one before it; one was replaced or swapped"
        yield _finding("CHN002", what, row.unit, row.seq)
    if not _unaltered(row, entry):
        what = f"entry #{row.seq} is not what was written: its hash does not fit its content"
        yield _finding("CHN001", what, row.unit, row.seq)


def _unaltered(row: StoredRow, entry: Entry | None) -> bool:
    """The hash fits, and the column ``kind``, which only repeats the body, agrees with it."""
    try:
        return entry_hash(row) == row.hash and (entry or to_entry(row)).body.kind == row.kind
    except StoreError:  # what cannot be hashed or read was not written by us
        return False


def _finding(code: str, what: str, unit: str | None, seq: int) -> Finding:
    return Finding(code, what, Place(unit=unit, entry=seq), hint=_HINT)


_KEYS = {"at": str, "body": dict, "by": str, "previous": str, "recorded": str, "seq": int, "source": str}
_ALSO = {"slot": str, "unit": str, "zone": str}
_LINES_HINT = "ask for the bag again, and compare its head with the certificate"


def entry_lines(rows: Iterable[StoredRow]) -> bytes:
    """The rows as lines, each as it is hashed.

    Raises:
        NotStorable: a row holds bytes that are no text.
    """
    return b"".join(hashed_bytes(row) + b"\n" for row in rows)


def read_entry_lines(content: bytes, file: str) -> tuple[tuple[StoredRow, ...], list[Finding]]:
    """The rows of a file of lines; none, and what is wrong with each line, where anything is.

    Findings: BAG006 a line that is not an entry, BAG007 an entry that does not follow the one before it.
    """
    rows: list[StoredRow] = []
    findings: list[Finding] = []
    previous = GENESIS
    for number, raw in enumerate(_lines(content), start=1):
        row = _row(raw)
        if row is None:
            what = "this line is not an entry; RFC 8785 JSON with every part of an entry is expected"
            findings.append(Finding("BAG006", what, Place(file, number), hint=_LINES_HINT))
            continue
        if row.seq != number or row.previous != previous or (rows and row.unit != rows[0].unit):
            what = f"entry #{row.seq} of {row.unit} does not follow the line before it"
            findings.append(Finding("BAG007", what, Place(file, number), hint=_LINES_HINT))
        rows.append(row)
        previous = row.hash
    if not rows and not findings:
        findings.append(Finding("BAG006", "the file has no entry", Place(file), hint=_LINES_HINT))
    return ((), findings) if findings else (tuple(rows), [])


def _lines(content: bytes) -> Iterator[bytes]:
    whole = content.split(b"\n")
    yield from whole[:-1] if whole[-1] == b"" else whole


def _row(raw: bytes) -> StoredRow | None:
    """The row whose hashed text these bytes are; None where they are none."""
    try:
        read = json.loads(raw)
    except (ValueError, RecursionError):
        return None
    if not isinstance(read, dict) or not _shaped(read):
        return None
    try:
        open_row = StoredRow(
            unit=read["unit"], seq=read["seq"], at=read["at"], recorded=read["recorded"], by=read["by"],
            slot=read.get("slot"), zone=read.get("zone"), source=read["source"], kind=read["body"]["kind"],
            body=canonical_json(read["body"]), previous=read["previous"], hash="",
        )  # fmt: skip
        row = replace(open_row, hash=entry_hash(open_row))
        kind = to_entry(row).body.kind
        return row if hashed_bytes(row) == raw and kind == row.kind else None
    except (StoreError, RecursionError, UnicodeError):
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
