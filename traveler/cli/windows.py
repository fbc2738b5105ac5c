"""Windows of time as a person gives them: a day, or so many days, weeks, months or years back."""

from __future__ import annotations

from datetime import datetime, time

from traveler.shop.session import Session
from traveler.text import read_day, read_start


def day_begins(session: Session, text: str) -> datetime:
    """The first moment of the day, in the shop's zone; ``7d`` is the day seven days before today.

    A month back counts as 30 days, a year as 365.

    Raises:
        CannotDo: the text is neither.
    """
    return datetime.combine(read_start(text, session.today), time.min, session.shop.zone)


def day_ends(session: Session, text: str) -> datetime:
    """The last moment of the day.

    Raises:
        CannotDo: the text is no day.
    """
    return datetime.combine(read_day(text), time.max, session.shop.zone)
