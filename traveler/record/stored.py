"""An entry as the text that is hashed and stored, and back; times as canonical text."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import rfc8785
from pydantic import TypeAdapter, ValidationError
from sqlalchemy import Dialect, Text
from sqlalchemy.types import TypeDecorator, TypeEngine

from traveler.record.entry import Body, Draft, Entry, utc
from traveler.record.errors import NotStorable, StoreDamaged


def time_text(moment: datetime) -> str:
    """``2026-09-14T08:30:00.000000Z``: UTC, always of one length, so that text order is time order.

    Raises:
        ValueError: the time has no zone.
    """
    return utc(moment).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def time_of(text: str) -> datetime:
    """The moment a :func:`time_text` stands for, in UTC.

    Raises:
        ValueError: the text is not of that form.
    """
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        msg = f"a stored time without a zone: {text!r}"
        raise ValueError(msg)
    return moment if moment.tzinfo is UTC else moment.astimezone(UTC)


def key_text() -> TypeEngine[str]:
    """Text that sorts by code point on every database, whatever language the server was set up in."""
    return Text().with_variant(Text(collation="C"), "postgresql")


class UtcText(TypeDecorator[datetime]):
    """An aware time, kept as :func:`time_text`; a naive time is refused."""

    impl = key_text()
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:  # noqa: ARG002
        """Time to text."""
        return None if value is None else time_text(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Text to time.

        Raises:
            StoreDamaged: the text is none of ours.
        """
        try:
            return None if value is None else time_of(value)
        except (ValueError, TypeError) as problem:
            what = f"the records hold a time that cannot be read: {value!r}"
            raise StoreDamaged(what, "run 'traveler records verify' and restore a backup") from problem


_BODY: TypeAdapter[Body] = TypeAdapter(Body)


@dataclass(frozen=True, slots=True)
class StoredRow:
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


def canonical_json(value: object) -> str:
    """RFC 8785 JSON text of a value made of dicts, lists, texts, whole numbers, booleans and None.

    Raises:
        NotStorable: half a surrogate pair or a number past 2^53 in it.
    """
    try:
        return rfc8785.dumps(value).decode()  # type: ignore[arg-type]
    except (rfc8785.CanonicalizationError, UnicodeEncodeError) as problem:
        what = f"this cannot be stored: {problem}"
        raise NotStorable(what, "use whole characters and numbers below 9,007,199,254,740,992") from problem


def body_text(body: Body) -> str:
    """The body as RFC 8785 JSON, fields with their default left out, ``kind`` always there.

    Raises:
        NotStorable: a text or number in it has no exact JSON form.
    """
    return canonical_json({"kind": body.kind, **body.model_dump(mode="json", exclude_defaults=True)})


def stored_row(draft: Draft, seq: int, recorded: str, previous: str) -> StoredRow:
    """The draft as a row; the chain gives it its ``hash``.

    Raises:
        NotStorable: a text that a database cannot hold.
    """
    for text in (draft.unit, draft.by, draft.slot, draft.zone):
        refuse_unstorable(text)
    return StoredRow(
        unit=draft.unit, seq=seq, at=time_text(draft.at), recorded=recorded, by=draft.by, slot=draft.slot,
        zone=draft.zone, source=draft.source, kind=draft.body.kind, body=body_text(draft.body),
        previous=previous, hash="",
    )  # fmt: skip


def to_entry(row: StoredRow) -> Entry:
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
        raise StoreDamaged(what, "run 'traveler records verify' and restore a backup") from problem


def _entry(fields: dict[str, object]) -> Entry:
    """What ``Entry.model_construct`` gives for all its fields, in a third of the time."""
    entry = Entry.__new__(Entry)
    object.__setattr__(entry, "__dict__", fields)
    object.__setattr__(entry, "__pydantic_fields_set__", set(fields))
    object.__setattr__(entry, "__pydantic_extra__", None)
    object.__setattr__(entry, "__pydantic_private__", None)
    return entry


def refuse_unstorable(text: str | None) -> None:
    """Refuse a text that not every database can hold.

    Raises:
        NotStorable: a NUL or half a surrogate pair.
    """
    if text is not None and ("\x00" in text or any("\ud800" <= sign <= "\udfff" for sign in text)):
        what = f"this text cannot be stored: {text!r}"
        raise NotStorable(what, "remove the characters that are not text")
