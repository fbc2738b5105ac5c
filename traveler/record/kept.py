"""An entry as the text that is hashed and stored, and back.

A field that has its default is left out of the body's text, so that a field added to an entry kind later
changes no byte of what was written before. For the same reason a default, once used, never changes.
"""

from __future__ import annotations

from dataclasses import dataclass

import rfc8785
from pydantic import TypeAdapter, ValidationError

from traveler.record.columns import time_of, time_text
from traveler.record.entry import Body, Draft, Entry
from traveler.record.trouble import NotKept, StoreDamaged

_BODY: TypeAdapter[Body] = TypeAdapter(Body)


@dataclass(frozen=True, slots=True)
class Kept:
    """One row of the table ``entry``, text as stored; ``body`` is RFC 8785 JSON."""

    unit: str
    seq: int
    at: str
    recorded: str
    by: str
    slot: str | None
    zone: str | None
    source: str
    kind: str
    body: str
    previous: str
    hash: str


def canonical(value: object) -> str:
    """RFC 8785 JSON text of a value made of dicts, lists, texts, whole numbers, booleans and None.

    Raises:
        NotKept: half a surrogate pair or a number past 2^53 in it.
    """
    try:
        return rfc8785.dumps(value).decode()  # type: ignore[arg-type]
    except (rfc8785.CanonicalizationError, UnicodeEncodeError) as problem:
        what = f"this cannot be stored: {problem}"
        raise NotKept(what, "use whole characters and numbers below 9,007,199,254,740,992") from problem


def body_text(body: Body) -> str:
    """The body as RFC 8785 JSON, fields with their default left out, ``kind`` always there.

    Raises:
        NotKept: a text or number in it has no exact JSON form.
    """
    return canonical({"kind": body.kind, **body.model_dump(mode="json", exclude_defaults=True)})


def kept(draft: Draft, seq: int, recorded: str, previous: str, digest: str = "") -> Kept:
    """The draft as a row; the chain gives it its ``digest``.

    Raises:
        NotKept: a text that a database cannot hold.
    """
    for text in (draft.unit, draft.by, draft.slot, draft.zone):
        plain(text)
    return Kept(
        unit=draft.unit, seq=seq, at=time_text(draft.at), recorded=recorded, by=draft.by, slot=draft.slot,
        zone=draft.zone, source=draft.source, kind=draft.body.kind, body=body_text(draft.body),
        previous=previous, hash=digest,
    )  # fmt: skip


def of_entry(entry: Entry) -> Kept:
    """The row an entry is stored as."""
    return kept(entry, entry.seq, time_text(entry.recorded), entry.previous, entry.hash)


def to_entry(row: Kept) -> Entry:
    """The entry a row stands for.

    Raises:
        StoreDamaged: the row is not what this program ever wrote.
    """
    try:
        return _entry({
            "unit": row.unit, "at": time_of(row.at), "zone": row.zone, "by": row.by, "slot": row.slot,
            "body": _BODY.validate_json(row.body), "source": row.source, "seq": row.seq,
            "recorded": time_of(row.recorded), "previous": row.previous, "hash": row.hash,
        })  # fmt: skip
    except (ValidationError, ValueError, TypeError) as problem:
        what = f"entry #{row.seq} of {row.unit} cannot be read as an entry"
        raise StoreDamaged(what, "run 'traveler verify' and restore a backup") from problem


def _entry(fields: dict[str, object]) -> Entry:
    """What ``Entry.model_construct`` gives for all its fields, in a third of the time."""
    entry = Entry.__new__(Entry)
    object.__setattr__(entry, "__dict__", fields)
    object.__setattr__(entry, "__pydantic_fields_set__", set(fields))
    object.__setattr__(entry, "__pydantic_extra__", None)
    object.__setattr__(entry, "__pydantic_private__", None)
    return entry


def plain(text: str | None) -> None:
    """Refuse a text that not every database can hold.

    Raises:
        NotKept: a NUL or half a surrogate pair.
    """
    if text is not None and ("\x00" in text or any("\ud800" <= sign <= "\udfff" for sign in text)):
        what = f"this text cannot be stored: {text!r}"
        raise NotKept(what, "remove the characters that are not text")
