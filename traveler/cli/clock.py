"""The one place where the clock is read."""

from __future__ import annotations

import os
from contextlib import suppress
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from traveler.finding import CannotDo
from traveler.text import NotUnderstood, read_moment


def now() -> datetime:
    """The present moment in UTC, or that of ``TRAVELER_NOW`` (for demonstrations and tests).

    Raises:
        CannotDo: ``TRAVELER_NOW`` is not a time with a zone.
    """
    told = os.environ.get("TRAVELER_NOW")
    if not told:
        return datetime.now(UTC)
    with suppress(NotUnderstood):
        moment = read_moment(told)
        if moment.tzinfo is not None:
            return moment.astimezone(UTC)
    what = f"TRAVELER_NOW is {told!r}, which is not a time with a zone"
    raise CannotDo(what, "write it as 2026-11-02T14:30:00+01:00, or unset it")


def moment(text: str | None, zone: str, present: datetime) -> datetime:
    """The time a person gave, in the shop's zone unless it names its own; the present one for None.

    Raises:
        CannotDo: the text is not a date with a time.
    """
    return present if text is None else read_moment(text, ZoneInfo(zone))


def shown(moment: datetime, zone: str) -> str:
    """The time as the shop's wall clock shows it: ``2026-11-02 14:30``."""
    return moment.astimezone(ZoneInfo(zone)).strftime("%Y-%m-%d %H:%M")
