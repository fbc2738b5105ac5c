"""Times as people write them: ISO 8601 date and time of day; the shop's zone where none is written."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from traveler.finding import Finding
from traveler.record.readers.written import Written, say

_ISO = re.compile(
    r"([0-9]{4}-[0-9]{2}-[0-9]{2})[T ]+([0-9]{1,2}:[0-9]{2})(:[0-9]{2}(?:[.,][0-9]{1,6})?)?"
    r" ?(Z|[+-][0-9]{2}:?[0-9]{2})?",
    re.IGNORECASE,
)
_HINT = "write year-month-day hour:minute, like 2026-09-14 10:20"


def read_time(written: Written, zone: ZoneInfo) -> datetime | Finding:
    """The moment in UTC.

    Findings: RES020 not a date with a time of day, RES021 an hour that a change of clocks skips or repeats.
    """
    found = _ISO.fullmatch(written.text.strip())
    if found is None:
        return say("RES020", written, f"'{written.text[:40]}' is not a date with a time of day", _HINT)
    day, clock, seconds, offset = found.groups()
    joined = f"{day}T{clock.zfill(5)}{(seconds or '').replace(',', '.')}{(offset or '').upper()}"
    try:
        moment = datetime.fromisoformat(joined)
        return moment.astimezone(UTC) if offset else _in_zone(moment, zone, written)
    except (ValueError, OverflowError):
        return say("RES020", written, f"'{written.text[:40]}' is no day or hour there is", _HINT)


def _in_zone(moment: datetime, zone: ZoneInfo, written: Written) -> datetime | Finding:
    """A local time, unless the clocks made it doubtful (PEP 495: both folds must agree and come back)."""
    early, late = (moment.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    offsets = (early.utcoffset(), late.utcoffset())
    if offsets[0] == offsets[1]:
        return early.astimezone(UTC)
    skipped = (offsets[1] or timedelta()) > (offsets[0] or timedelta())
    fate = "did not happen" if skipped else "happened twice"
    what = f"{written.text.strip()} {fate} in {zone.key}: clocks changed"
    return say("RES021", written, what, f"write the offset too, like {moment:%Y-%m-%d %H:%M}+02:00")
