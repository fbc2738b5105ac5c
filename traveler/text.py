"""Text that people write and read: days, moments, durations, counts, near names.

Every command and every file understands the same writings:

====================  ====================================================================================
a day                 ``2026-11-30``: year, month and day with hyphens
a moment              ``2026-11-30 14:30`` or ``2026-11-30T14:30``, with seconds and an offset if need be
                      (``14:30:05``, ``+01:00``, ``Z``); without an offset it is in the shop's time zone
a duration            ``30`` or ``30d`` days, ``6w`` weeks, ``6m`` months of 30 days, ``1y`` of 365 days;
                      also in full: ``30 days``, ``6 weeks``, ``6 months``, ``1 year``
the start of a span   a day, or a duration back from today
====================  ====================================================================================
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta, tzinfo
from difflib import SequenceMatcher, get_close_matches
from zoneinfo import ZoneInfo

DAY_HINT = "write it as 2026-11-30"
MOMENT_HINT = "write it as 2026-11-30 14:30"
DURATION_HINT = "write it as 30d, 6w, 6m or 1y"
START_HINT = f"{DAY_HINT}, or how far back: 30d, 6w, 6m, 1y"

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MOMENT = re.compile(
    rf"({_DAY.pattern})[T ]+([0-9]{{1,2}}:[0-9]{{2}})(:[0-9]{{2}}(?:[.,][0-9]{{1,6}})?)?"
    r" ?(Z|[+-][0-9]{2}:?[0-9]{2})?",
    re.IGNORECASE,
)
_DURATION = re.compile(r"([0-9]{1,4}) ?(?:(d|days?)|(w|weeks?)|(m|months?)|(y|years?))?", re.IGNORECASE)
_DAYS = (1, 7, 30, 365)


class NotUnderstood(ValueError):
    """A text that is not written as its reader asks; ``what`` is wrong, and in ``hint`` how to write it."""

    def __init__(self, what: str, hint: str) -> None:
        super().__init__(what)
        self.what, self.hint = what, hint


class DoubtfulHour(NotUnderstood):
    """A local time that a change of clocks skips or repeats."""


def read_day(text: str) -> date:
    """The day that is written.

    >>> read_day("2026-11-30")
    datetime.date(2026, 11, 30)

    Raises:
        NotUnderstood: it is not a day of the calendar, or written otherwise.
    """
    written = text.strip()
    try:
        if _DAY.fullmatch(written):
            return date.fromisoformat(written)
    except ValueError:
        pass
    raise NotUnderstood(f"'{written[:40]}' is not a day", DAY_HINT)


def read_moment(text: str, zone: ZoneInfo | None = None) -> datetime:
    """The moment that is written; without an offset it is in ``zone``, or naive where that is None.

    Raises:
        DoubtfulHour: the clocks of the zone skip or repeat this hour.
        NotUnderstood: it is not a date with a time of day, or written otherwise.
    """
    written = text.strip()
    found = _MOMENT.fullmatch(written)
    try:
        if found is not None:
            day, clock, seconds, offset = found.groups()
            joined = f"{day}T{clock.zfill(5)}{(seconds or '').replace(',', '.')}{(offset or '').upper()}"
            moment = datetime.fromisoformat(joined)
            if not offset and zone is not None:
                moment = _in_zone(moment, zone, written)
            moment.astimezone(UTC)  # a moment that the calendar of UTC has not is none
            return moment
    except (ValueError, OverflowError) as problem:
        if isinstance(problem, NotUnderstood):
            raise
    raise NotUnderstood(f"'{written[:40]}' is not a date with a time", MOMENT_HINT)


def _in_zone(moment: datetime, zone: ZoneInfo, written: str) -> datetime:
    """A local time, unless the clocks made it doubtful (PEP 495: both folds must agree)."""
    early, late = (moment.replace(tzinfo=zone, fold=fold).utcoffset() or timedelta() for fold in (0, 1))
    if early == late:
        return moment.replace(tzinfo=zone)
    fate = "did not happen" if late > early else "happened twice"
    what = f"{written} {fate} in {zone.key}: clocks changed"
    raise DoubtfulHour(what, f"write the offset too, like {moment:%Y-%m-%d %H:%M}+02:00")


def read_duration(text: str) -> timedelta:
    """The duration that is written, in whole days; a number alone is days.

    >>> read_duration("6w").days, read_duration("30").days
    (42, 30)

    Raises:
        NotUnderstood: it is none.
    """
    found = _DURATION.fullmatch(text.strip())
    if found is None:
        raise NotUnderstood(f"not a duration: '{text.strip()[:40]}'", DURATION_HINT)
    number, *units = found.groups()
    days = next((days for days, unit in zip(_DAYS, units, strict=True) if unit), 1)
    return timedelta(days=int(number) * days)


def read_start(text: str, today: date) -> date:
    """The first day of a span: the day that is written, or so long before today.

    Raises:
        NotUnderstood: it is neither.
    """
    written = text.strip()
    try:
        return read_day(written) if "-" in written else today - read_duration(written)
    except (NotUnderstood, OverflowError) as problem:
        raise NotUnderstood(f"'{written[:40]}' is neither a day nor a duration", START_HINT) from problem


def day_in(zone: tzinfo, moment: datetime) -> date:
    """The day that the calendar in the zone shows at that moment."""
    return moment.astimezone(zone).date()


def days_late(due: date, today: date) -> int:
    """Days by which something is overdue: it is in time through the day on which it is due."""
    return max(0, (today - due).days)


def duration_text(span: timedelta) -> str:
    """A span of time in words: whole hours below two days, else whole days.

    >>> duration_text(timedelta(hours=30)), duration_text(timedelta(days=3, hours=5))
    ('30 h', '3 days')
    """
    hours = int(span.total_seconds() // 3600)
    return f"{hours} h" if hours < 48 else f"{hours // 24} days"


def plural(count: int, thing: str, things: str | None = None) -> str:
    """A count with its noun.

    >>> plural(1, "unit"), plural(1200, "unit"), plural(2, "entry", "entries")
    ('1 unit', '1,200 units', '2 entries')
    """
    return f"{count:,} {thing if count == 1 else things or thing + 's'}"


def listed(words: Sequence[str], joint: str = "and") -> str:
    """``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joint} {words[-1]}"


SYNONYMS: tuple[tuple[str, ...], ...] = (
    ("limits", "limit", "tolerance", "tol", "spec", "specification"),
    ("value", "result", "reading", "measured", "measurement", "actual", "found"),
    ("gauge", "gage", "instrument", "tool", "device", "equipment"),
    ("unit", "units", "uom", "unit-of-measure"),
    ("by", "operator", "person", "who", "name", "user", "technician"),
    ("at", "date", "time", "when", "moment"),
    ("on", "date", "day"),
    ("note", "notes", "remark", "remarks", "comment", "comments"),
    ("text", "description"),
    ("slot", "box", "field"),
    ("serial", "serial-number", "sn", "s/n"),
    ("lot", "batch", "heat", "charge"),
    ("revision", "rev", "version"),
    ("order", "job", "work-order", "wo"),
    ("quantity", "qty", "count", "pieces"),
    ("part", "parts", "component", "components"),
    ("number", "part-number", "pn"),
    ("measure", "check", "inspect", "gauge-it"),
    ("confirm", "verify", "look"),
    ("fit", "install", "mount"),
    ("do", "work", "task", "instruction"),
    ("assembler", "fitter", "mechanic", "technician"),
    ("inspector", "inspection", "checker"),
    ("quality", "qa", "qc"),
    ("packer", "packing"),
    ("engineering", "engineer", "design"),
    ("shipping", "dispatch", "logistics"),
    ("director", "manager", "boss"),
    ("indicator", "dial-indicator", "dial-gauge", "dti"),
    ("caliper", "calliper", "vernier"),
    ("micrometer", "mic"),
    ("play", "clearance", "backlash", "slack"),
    ("runout", "run-out", "wobble", "tir"),
    ("flatness", "planarity"),
    ("mass", "weight"),
)
"""Words of the trade for the same thing; which of them is right depends on what is known in a place."""


def nearest(name: str, known: Iterable[str], titles: Mapping[str, str] | None = None) -> str | None:
    """The known name that was most probably meant: spelled otherwise, a synonym, or a near one; else None.

    ``titles`` are further words for known names: the name of a person, what a symptom is called.

    >>> nearest("ind03", ["IND-03", "CAL-01"]), nearest("tolerance", ["gauge", "limits"])
    ('IND-03', 'limits')
    """
    names = list(known)
    spelled = _spelled(names, titles)
    wanted = _folded(name[:LONGEST_NAME])
    if wanted in spelled:
        return spelled[wanted]
    for group in SYNONYMS:
        if wanted in group:
            for word in group:
                if word in spelled:
                    return spelled[word]
    return next(iter(near_names(name, names, titles)), None)


def near_names(name: str, known: Iterable[str], titles: Mapping[str, str] | None = None) -> list[str]:
    """The known names spelled most like this one, all that are equally near; synonyms do not count.

    Separators and leading zeros of a number make no difference.

    >>> near_names("REA1", ["REA015", "REA001"]), near_names("IND-9", ["IND-03", "IND-05"])
    (['REA001'], ['IND-03', 'IND-05'])
    """
    spelled = _spelled(known, titles)
    wanted = _folded(name[:LONGEST_NAME])
    parts = _parts(wanted)
    if wanted in spelled or not parts:
        return [spelled[wanted]] if wanted in spelled else []
    same = [item for text, item in spelled.items() if _parts(text) == parts]
    if same:
        return list(dict.fromkeys(same))
    texts = {" ".join(_parts(text)): item for text, item in spelled.items()}
    asked = " ".join(parts)
    close = get_close_matches(asked, texts, n=MOST_NAMED)
    scores = {text: SequenceMatcher(None, text, asked).ratio() for text in close}
    best = max(scores.values(), default=0)
    return list(dict.fromkeys(texts[text] for text in sorted(close) if scores[text] == best))


def _spelled(known: Iterable[str], titles: Mapping[str, str] | None) -> dict[str, str]:
    """What may be written → the known name it stands for."""
    spelled: dict[str, str] = {}
    for item in known:
        spelled.setdefault(_folded(item), item)
    for item, title in (titles or {}).items():
        spelled.setdefault(_folded(title), item)
    return spelled


def _parts(text: str) -> tuple[str, ...]:
    """The words and numbers of a name; a number without its leading zeros."""
    return tuple(re.sub(r"^0+(?=[0-9])", "", part) for part in re.findall(r"[0-9]+|[^\W\d]+", text))


def did_you_mean(
    name: str, known: Iterable[str], otherwise: str = "", titles: Mapping[str, str] | None = None
) -> str:
    """A hint: the nearest known names, else ``otherwise``, else what there is to choose from.

    >>> did_you_mean("runot", ["runout", "play"]), did_you_mean("x", ["runout", "play"])
    ("did you mean 'runout'?", 'known are runout, play')
    """
    names = list(known)
    meant, near = nearest(name, names, titles), near_names(name, names, titles)
    if meant is not None and meant not in near:
        near = [meant]
    if 0 < len(near) <= MOST_NEAR:
        quoted = [f"'{item}'" for item in near]
        return f"did you mean {listed(quoted, 'or')}?"
    if otherwise or not names:
        return otherwise or "there is none"
    return f"known are {', '.join(names[:MOST_NAMED])}{' …' if len(names) > MOST_NAMED else ''}"


MOST_NAMED, MOST_NEAR = 12, 4
"""Names listed in a hint; more equally near names than that are none."""

LONGEST_NAME = 80
"""Characters of a name that are compared."""


def _folded(name: str) -> str:
    return re.sub(r"[\s_]+", "-", name.strip().casefold())
