"""A gauge that went wrong in May and was set right in August: the same factor, seen a season at a time.

A gauge, a person or a machine seldom causes complaints all year. Counted over the year, the few bad weeks
drown in the good ones and whatever else happened in those weeks looks worse than the cause. So each such
factor is offered once more for every window of three months, windows starting every six weeks or so.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date, timedelta
from functools import lru_cache

from traveler.trace.carriers import Units

WINDOW = timedelta(days=91)
STEP = timedelta(days=45)


@lru_cache(maxsize=4096)
def windows(day: date) -> tuple[date, ...]:
    """The first days of the windows that hold this day, earlier first; they lie alike for every shop.

    >>> [str(one) for one in windows(date(2026, 8, 1))]
    ['2026-05-19', '2026-07-03']
    """
    latest = date.fromordinal(day.toordinal() // STEP.days * STEP.days)
    back = range((WINDOW.days - 1) // STEP.days, -1, -1)
    starts = [latest - at * STEP for at in back]
    return tuple(start for start in starts if day < start + WINDOW)


@lru_cache(maxsize=4096)
def span(start: date) -> str:
    """``from 2026-05-19 to 2026-08-17``, both days included."""
    return f"from {start} to {start + WINDOW - timedelta(days=1)}"


def with_periods(units: Units, attributes: Collection[str], days: Mapping[str, date]) -> Units:
    """The units with the values of those attributes repeated for each window, as ``IND-03 from … to …``.

    Args:
        units: what each unit carries.
        attributes: those whose effect may come and go: gauges, people, machines; lots and revisions have a
        time of
            their own.
        days: when each unit was built; a unit without a day is left as it is.
    """
    return {unit: _with(carried, attributes, days.get(unit)) for unit, carried in units.items()}


def _with(
    carried: Mapping[str, Collection[str]], attributes: Collection[str], day: date | None
) -> Mapping[str, Collection[str]]:
    if day is None:
        return carried
    spans = [span(start) for start in windows(day)]
    more = {
        attribute: {*carried[attribute], *(f"{value} {one}" for value in carried[attribute] for one in spans)}
        for attribute in attributes
        if attribute in carried
    }
    return {**carried, **more}
