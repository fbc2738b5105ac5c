"""How values stand in the tables: times as canonical text, keys in code point order.

SQLite would lose the zone of a time; as text it survives, and both databases hold the same bytes. Exact
numbers are text inside the bodies of entries, never a numeric column: SQLite would make a float of it.
"""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import Dialect, Text
from sqlalchemy.types import TypeDecorator, TypeEngine

from traveler.record.entry import utc
from traveler.record.trouble import StoreDamaged


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
            what = f"the records hold a time that is none: {value!r}"
            raise StoreDamaged(what, "run 'traveler verify' and restore a backup") from problem
