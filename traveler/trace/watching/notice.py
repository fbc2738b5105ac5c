"""One thing worth knowing: how pressing it is, what it is, and which command looks further."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


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


def in_order(notices: Iterable[Notice]) -> tuple[Notice, ...]:
    """The notices in the order in which they matter."""

    def key(one: Notice) -> tuple[int, int, float, str]:
        return LEVELS.index(one.level), SUBJECTS.index(one.subject), -one.urgency, one.what

    return tuple(sorted(notices, key=key))
