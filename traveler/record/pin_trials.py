"""Trials of a PIN since the last one that was right, as they are counted in the store.

A trial is counted before the PIN is looked at, and taken off the count when it was right. So however many
computers try at once, each trial is counted, and whoever pulls the plug in between has used one up.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class PinTrials:
    """How many trials count, and when the last one began (UTC, by the clock of the store)."""

    failures: int
    last: datetime
