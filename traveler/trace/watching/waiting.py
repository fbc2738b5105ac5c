"""How long a unit has been in the state it is in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from traveler.definition.plan import Plan
from traveler.record.entry import Entry
from traveler.verdict.outcome import UnitState
from traveler.verdict.state import LIFE, NO_WORK, state_after

AGEING: dict[str, int] = {
    "issued": 30,
    "building": 14,
    "inspection": 5,
    "stopped": 3,
    "released": 5,
    "crated": 5,
    "in stock": 180,
}
"""Days in a state after which a unit is told, unless ``ageing_days`` of the shop says otherwise."""

LATE = frozenset({str(state) for state in LIFE.values()})
"""States that one entry brings about; only entries of such kinds are needed to date them."""

TURNING = frozenset({*LIFE, "signed", "witnessed", "stopped", "decided", "struck", "issued"})
"""Kinds of entries that may bring a unit into another state, besides the first work on it."""


def in_state_since(entries: Sequence[Entry], plan: Plan | None = None) -> datetime:
    """When the unit came into its present state: when the entry was done that brought it there.

    ``entries`` are all of the unit's, or at least those of :data:`TURNING` for states of :data:`LATE`.

    Raises:
        ValueError: there is no entry.
    """
    ordered = sorted(entries, key=lambda one: one.seq)
    if not ordered:
        msg = "a unit without an entry is in no state"
        raise ValueError(msg)
    state = state_after(ordered, plan)
    for at in range(len(ordered) - 1, 0, -1):
        if _may_turn(ordered, at, state) and state_after(ordered[:at], plan) != state:
            return ordered[at].at
    return ordered[0].at


def _may_turn(ordered: Sequence[Entry], at: int, state: UnitState) -> bool:
    """Whether the state may have been another before this entry: a cheap look before the thorough one."""
    if ordered[at].body.kind in TURNING or ordered[at - 1].body.kind in NO_WORK:
        return True
    before, here = (ordered[one].slot or "" for one in (at - 1, at))
    return state in (UnitState.BUILDING, UnitState.INSPECTION) and before[:1] != here[:1]
