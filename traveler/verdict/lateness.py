"""Whether an entry was written long after the work: what is remembered is not what was observed."""

from __future__ import annotations

from datetime import timedelta

from traveler.record.entry import Entry
from traveler.shop.settings import Settings


def lateness(entry: Entry, settings: Settings) -> timedelta | None:
    """How long after the work it was recorded, where that is more than ``late_after_hours``; else None."""
    behind = entry.recorded - entry.at
    return behind if behind > timedelta(hours=settings.late_after_hours) else None


def told(behind: timedelta) -> str:
    """A stretch of time as one would say it: ``3 days``, ``30 h``.

    >>> told(timedelta(hours=30)), told(timedelta(days=3, hours=5))
    ('30 h', '3 days')
    """
    hours = int(behind.total_seconds() // 3600)
    return f"{hours} h" if hours < 48 else f"{hours // 24} days"
