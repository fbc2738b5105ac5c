"""One thing worth knowing: how pressing it is, what it is, and which command looks further."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby


class Level(StrEnum):
    """How pressing: ``act`` today, ``look`` this week, ``know``."""

    ACT = "act"
    LOOK = "look"
    KNOW = "know"


LEVELS = tuple(Level)

SUBJECTS = (
    "gauge", "stop", "complaint", "drift", "capability", "repeated", "concession", "waiting",
)  # fmt: skip
"""What notices are about, in the order in which they are told within a level."""


@dataclass(frozen=True, slots=True)
class Notice:
    """``urgency`` orders notices of one level and subject: the larger, the earlier."""

    level: Level
    subject: str
    what: str
    look: str
    urgency: float = 0.0

    def as_dict(self) -> dict[str, str]:
        """For ``--json``."""
        return {"level": str(self.level), "subject": self.subject, "what": self.what, "look": self.look}


MOST = 8
"""Notices of one level and subject that are told before it is only said how many more there are."""

HEADINGS = {Level.ACT: "To act on", Level.LOOK: "To look into", Level.KNOW: "To know"}


@dataclass(frozen=True, slots=True)
class Group:
    """Notices of one level and subject: the first few, and how many more there are."""

    level: Level
    subject: str
    notices: tuple[Notice, ...]
    more: int


def grouped(notices: Iterable[Notice]) -> tuple[Group, ...]:
    """The notices, which are in order, by level and subject."""
    groups = []
    for (level, subject), same in groupby(notices, key=lambda one: (one.level, one.subject)):
        found = tuple(same)
        groups.append(Group(level, subject, found[:MOST], max(0, len(found) - MOST)))
    return tuple(groups)


def in_order(notices: Iterable[Notice]) -> tuple[Notice, ...]:
    """The notices in the order in which they matter."""

    def key(one: Notice) -> tuple[int, int, float, str]:
        return LEVELS.index(one.level), SUBJECTS.index(one.subject), -one.urgency, one.what

    return tuple(sorted(notices, key=key))
