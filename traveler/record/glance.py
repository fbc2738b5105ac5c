"""A light look at many units at once: entries of a few kinds that stand, without a model for each.

What a question over hundreds of units needs is seldom more than which slot, when, by whom and one or two
fields of the body. The bodies stay text until they are asked for.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime
from functools import lru_cache
from typing import Any, NamedTuple

from pydantic_core import from_json
from sqlalchemy import Select, select

from traveler.record import tables
from traveler.record.columns import time_of
from traveler.record.records import Records
from traveler.record.trouble import StoreDamaged

AT_ONCE = 400
"""Units asked about in one statement; SQLite takes no more than some thousand parameters."""

_ENTRY = tables.entry.c
_COLUMNS = (_ENTRY.unit, _ENTRY.seq, _ENTRY.at, _ENTRY.by, _ENTRY.slot, _ENTRY.kind, _ENTRY.body)


class Glimpse(NamedTuple):
    """One entry, text as stored."""

    unit: str
    seq: int
    at: str
    by: str
    slot: str | None
    kind: str
    body: str

    def says(self) -> Mapping[str, Any]:
        """The body, to be read only; fields with their default are not in it.

        Raises:
            StoreDamaged: it is none.
        """
        said = _said(self.body)
        if said is None:
            raise self.damaged()
        return said

    def moment(self) -> datetime:
        """When it was done, in UTC.

        Raises:
            StoreDamaged: that is no time.
        """
        try:
            return time_of(self.at)
        except ValueError as problem:
            raise self.damaged() from problem

    def damaged(self) -> StoreDamaged:
        """What is raised where the entry is none."""
        what = f"entry #{self.seq} of {self.unit} cannot be read as an entry"
        return StoreDamaged(what, "run 'traveler verify' and restore a backup")


@lru_cache(maxsize=65536)
def _said(body: str) -> Mapping[str, Any] | None:
    """A body as a mapping, or None; the same few readings come again on unit after unit, so they are kept."""
    try:
        said = from_json(body)
    except ValueError:
        return None
    return said if isinstance(said, dict) else None


def glance(
    records: Records, serials: Collection[str], kinds: Collection[str]
) -> Mapping[str, tuple[Glimpse, ...]]:
    """Serial → the entries of these kinds that are not struck out, by number; units without one are left out.

    Raises:
        StoreDamaged: a strike-out cannot be read as one.
    """
    found: dict[str, list[Glimpse]] = {}
    ordered = sorted(set(serials))
    wanted = tuple({*kinds, "struck"})
    for first in range(0, len(ordered), AT_ONCE):
        rows = records.ask(_asked(ordered[first : first + AT_ONCE], wanted)).all()
        for one in map(Glimpse._make, rows):
            found.setdefault(one.unit, []).append(one)
    return {serial: kept for serial, seen in found.items() if (kept := _standing(seen, kinds))}


def _asked(serials: Sequence[str], kinds: Sequence[str]) -> Select[Any]:
    asked = select(*_COLUMNS).where(_ENTRY.unit.in_(serials), _ENTRY.kind.in_(kinds))
    return asked.order_by(_ENTRY.unit, _ENTRY.seq)


def _standing(seen: Iterable[Glimpse], kinds: Collection[str]) -> tuple[Glimpse, ...]:
    """Those of the kinds that no strike-out takes back; a strike-out can itself be struck out."""
    struck: set[int] = set()
    kept = []
    for one in reversed(list(seen)):
        if one.seq in struck:
            continue
        if one.kind == "struck":
            strikes = one.says().get("strikes")
            if isinstance(strikes, int) and strikes < one.seq:
                struck.add(strikes)
        if one.kind in kinds:
            kept.append(one)
    return tuple(reversed(kept))
