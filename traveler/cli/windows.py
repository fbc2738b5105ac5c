"""Windows of time as a person gives them: a day, or so many days, weeks, months or years back."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta

from traveler.finding import CannotDo
from traveler.shop.session import Session

_BACK = re.compile(r"([1-9][0-9]{0,3})\s?([dwmy])")
_DAYS = {"d": 1, "w": 7, "m": 30, "y": 365}
_HINT = "write a day, 2026-09-14, or how far back: 7d, 8w, 6m, 1y"


def day_begins(session: Session, text: str) -> datetime:
    """The first moment of the day, in the shop's zone; ``7d`` is the day seven days before today.

    A month back counts as 30 days, a year as 365.

    Raises:
        CannotDo: the text is neither.
    """
    return datetime.combine(_day(session, text), time.min, session.shop.zone)


def day_ends(session: Session, text: str) -> datetime:
    """The last moment of the day.

    Raises:
        CannotDo: the text is no day.
    """
    return datetime.combine(_day(session, text), time.max, session.shop.zone)


def _day(session: Session, text: str) -> date:
    written = text.strip()
    back = _BACK.fullmatch(written)
    try:
        if back is not None:
            return session.today - timedelta(days=int(back[1]) * _DAYS[back[2]])
        return date.fromisoformat(written)
    except (ValueError, OverflowError):
        what = f"'{text}' is not a day"
        raise CannotDo(what, _HINT) from None
