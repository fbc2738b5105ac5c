"""Which entries still count: strike-outs applied, except where a strike-out cannot take something back."""

from __future__ import annotations

from collections.abc import Sequence

from traveler.record.entry import Entry, Struck

UNSTRIKABLE = frozenset({"issued", "stopped"})
"""The issue of a unit stays; a stop is closed by a decision, or the gate could be talked around."""

WITHDRAWN_BY_QUALITY = frozenset(
    {"decided", "released", "crated", "placed", "shipped", "witnessed", "complained", "followed_up"}
)
"""Kinds whose strike-out takes the action ``withdraw``, even of one's own entry."""


def counting(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """The entries that stand, in the order of their numbers.

    A strike-out works on an earlier entry only, can itself be struck out, and leaves kinds in
    :data:`UNSTRIKABLE` standing. Struck entries stay in the record; they only stop counting.
    """
    if not any(isinstance(entry.body, Struck) for entry in entries):
        return tuple(entries)
    firm = {entry.seq for entry in entries if entry.body.kind in UNSTRIKABLE}
    struck: set[int] = set()
    for entry in reversed(entries):
        body = entry.body
        if isinstance(body, Struck) and entry.seq not in struck and body.strikes < entry.seq:
            struck.add(body.strikes)
    return tuple(entry for entry in entries if entry.seq not in struck or entry.seq in firm)
